// The example that the page carries: a JSON list of `{name, base64}`, itself packed so that no file name can end its tag.

import { bytesFromBase64, unpacked } from "./base64.js";

/** @param {string} text what the page holds; empty in a page without an example
 * @returns {Promise<File[]>} */
export async function demoFiles(text) {
  if (text.trim() === "") return [];
  const list = /** @type {{name: string, base64: string}[]} */ (JSON.parse(new TextDecoder().decode(await unpacked(text))));
  return list.map(({ name, base64 }) => new File([bytesFromBase64(base64)], name));
}
