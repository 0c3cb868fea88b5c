// The phone's camera while it is looked through. It runs only while it is seen: it stops when the page is hidden or left.
//
//   const camera = new LiveCamera();   $effect(() => camera.run());   camera.stream · camera.state
//   const frame = await camera.take(video);   frame.blob, frame.picture (close it)

/** refused: not allowed · none: there is none · busy: another app has it · unavailable: this browser lends none here. */
export type CameraState = "asking" | "live" | "stopped" | "refused" | "none" | "busy" | "unavailable";

export interface Frame { blob: Blob; picture: ImageBitmap }

interface StillCapture { takePhoto(): Promise<Blob> }
declare const ImageCapture: (new (track: MediaStreamTrack) => StillCapture) | undefined;

/** Asked for, not demanded: a phone gives what is nearest. Four to three, as most sensors are. */
const WANTED: MediaStreamConstraints = {
  audio: false,
  video: { facingMode: { ideal: "environment" }, width: { ideal: 2560 }, height: { ideal: 1920 } },
};
const PATIENCE = 5_000;
/** A still that shows more or less than the live picture would not lie under the ghost. */
const SAME_SHAPE = 0.03;

function stateOf(error: unknown): CameraState {
  const name = (error as { name?: string } | null)?.name;
  if (name === "NotAllowedError" || name === "SecurityError") return "refused";
  if (name === "NotFoundError" || name === "OverconstrainedError") return "none";
  return "busy";
}

export class LiveCamera {
  state = $state<CameraState>("asking");
  stream = $state.raw<MediaStream | null>(null);
  #wanted = false;

  /** Runs it until what is returned is called. */
  run(): () => void {
    const look = (): void => {
      if (document.visibilityState === "visible") void this.start();
      else this.stop();
    };
    this.#wanted = true;
    look();
    document.addEventListener("visibilitychange", look);
    return () => {
      document.removeEventListener("visibilitychange", look);
      this.#wanted = false;
      this.stop();
    };
  }

  async start(): Promise<void> {
    if (this.stream) return;
    if (!navigator.mediaDevices?.getUserMedia) {
      this.state = "unavailable";
      return;
    }
    this.state = "asking";
    try {
      const stream = await navigator.mediaDevices.getUserMedia(WANTED);
      // Left, hidden or started twice while the phone was asking.
      if (!this.#wanted || this.stream || document.visibilityState !== "visible") {
        for (const track of stream.getTracks()) track.stop();
        return;
      }
      for (const track of stream.getVideoTracks()) track.addEventListener("ended", () => this.stream === stream && this.stop("busy"));
      this.stream = stream;
      this.state = "live";
    } catch (error) {
      if (this.#wanted) this.state = stateOf(error);
    }
  }

  stop(state: CameraState = "stopped"): void {
    for (const track of this.stream?.getTracks() ?? []) track.stop();
    if (this.stream) this.state = state;
    this.stream = null;
  }

  /** A still where the phone gives one of the same frame, else the frame that is shown, as JPEG at its full size. */
  async take(video: HTMLVideoElement): Promise<Frame> {
    return (await this.#still(video)) ?? frameOf(video);
  }

  async #still(video: HTMLVideoElement): Promise<Frame | null> {
    const track = this.stream?.getVideoTracks()[0];
    if (!track || typeof ImageCapture === "undefined") return null;
    try {
      const blob = await Promise.race([
        new ImageCapture(track).takePhoto(),
        new Promise<never>((_, reject) => setTimeout(() => reject(new Error("The still took too long")), PATIENCE)),
      ]);
      const picture = await createImageBitmap(blob);
      const shape = (picture.width / picture.height) / (video.videoWidth / video.videoHeight);
      if (Math.abs(shape - 1) <= SAME_SHAPE && picture.width >= video.videoWidth) return { blob, picture };
      picture.close();
      return null;
    } catch {
      return null;
    }
  }
}

async function frameOf(video: HTMLVideoElement): Promise<Frame> {
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext("2d")!.drawImage(video, 0, 0);
  const blob = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.93));
  if (!blob) throw new Error("The camera gave no picture. Try once more.");
  return { blob, picture: await createImageBitmap(canvas) };
}
