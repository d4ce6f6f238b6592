// Hands a file that the page has made to the user. The one place where an address is followed, and always one of the page's own memory.

/** The browser asks for the address soon after the press, but not at once. */
const KEPT_MS = 30000;

/** @param {Blob} file @param {string} name */
export function download(file, name) {
  if (!(file instanceof Blob)) throw new TypeError("only a file of the page's own can be handed over");
  const address = URL.createObjectURL(file);
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), KEPT_MS);
}
