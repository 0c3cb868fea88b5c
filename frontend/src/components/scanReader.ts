// Reads QR codes from a picture: with the browser's own BarcodeDetector where there is one, else with a reader that our
// own server serves as WebAssembly and that is kept for offline with the rest of the app.

export interface CodeReader {
  /** The texts of the codes that are in the picture now. */
  read(picture: HTMLVideoElement): Promise<string[]>;
}

interface Detector { detect(source: HTMLVideoElement): Promise<{ rawValue: string }[]> }
interface DetectorClass { new (options: { formats: string[] }): Detector; getSupportedFormats(): Promise<string[]> }

const LONGER_EDGE = 960;

async function ownReader(): Promise<CodeReader | null> {
  const Own = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
  if (!Own) return null;
  try {
    if (!(await Own.getSupportedFormats()).includes("qr_code")) return null;
    const detector = new Own({ formats: ["qr_code"] });
    return { read: async (picture) => (await detector.detect(picture)).map(({ rawValue }) => rawValue) };
  } catch {
    // There in name only, as on systems without the service behind it.
    return null;
  }
}

async function assemblyReader(): Promise<CodeReader> {
  const [{ prepareZXingModule, readBarcodes }, { default: wasm }] = await Promise.all([import("zxing-wasm/reader"), import("zxing-wasm/reader/zxing_reader.wasm?url")]);
  await prepareZXingModule({ overrides: { locateFile: () => wasm }, fireImmediately: true });
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d", { willReadFrequently: true })!;
  return {
    async read(picture) {
      const scale = Math.min(1, LONGER_EDGE / Math.max(picture.videoWidth, picture.videoHeight));
      canvas.width = Math.round(picture.videoWidth * scale);
      canvas.height = Math.round(picture.videoHeight * scale);
      if (!canvas.width || !canvas.height) return [];
      pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
      const found = await readBarcodes(pen.getImageData(0, 0, canvas.width, canvas.height), { formats: ["QRCode"], tryHarder: true, maxNumberOfSymbols: 4 });
      return found.filter(({ isValid }) => isValid).map(({ text }) => text);
    },
  };
}

export async function codeReader(): Promise<CodeReader> {
  return (await ownReader()) ?? (await assemblyReader());
}
