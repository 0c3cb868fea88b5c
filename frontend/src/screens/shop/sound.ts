// Three tones and a long vibration, for the end of a timer. A browser lets a page sound only after it was touched; the words
// on the screen are always there.

let context: AudioContext | null = null;

/** Call it from a tap, so that the sound is allowed when its time comes. */
export function allowSound(): void {
  if (typeof AudioContext === "undefined") return;
  context ??= new AudioContext();
  void context.resume().catch(() => undefined);
}

export function sound(): void {
  navigator.vibrate?.([400, 150, 400, 150, 800]);
  allowSound();
  if (!context || context.state !== "running") return;
  for (const [index, pitch] of [880, 660, 880].entries()) {
    const start = context.currentTime + index * 0.45;
    const tone = context.createOscillator();
    const level = context.createGain();
    tone.frequency.value = pitch;
    level.gain.setValueAtTime(0.0001, start);
    level.gain.exponentialRampToValueAtTime(0.5, start + 0.03);
    level.gain.exponentialRampToValueAtTime(0.0001, start + 0.4);
    tone.connect(level).connect(context.destination);
    tone.start(start);
    tone.stop(start + 0.42);
  }
}
