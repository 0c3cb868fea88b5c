/** Bytes of base64url text (RFC 4648, section 5), padded or not. */
export function keyBytes(text: string): Uint8Array<ArrayBuffer> {
  const letters = atob(text.replaceAll("-", "+").replaceAll("_", "/").replace(/=+$/, ""));
  const bytes = new Uint8Array(letters.length);
  for (let index = 0; index < letters.length; index += 1) bytes[index] = letters.charCodeAt(index);
  return bytes;
}
