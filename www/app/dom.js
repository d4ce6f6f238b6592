// Small helpers for elements. Text goes in as text, never as HTML.

/** @typedef {{class?: string, text?: string, attrs?: Record<string, string | boolean | number>,
 *   on?: Record<string, (event: any) => void>}} Props */

/** @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag @param {Props} [props] @param {(Node | string)[]} [children]
 * @returns {HTMLElementTagNameMap[Tag]} */
export function el(tag, props = {}, children = []) {
  const element = document.createElement(tag);
  if (props.class !== undefined) element.className = props.class;
  if (props.text !== undefined) element.textContent = props.text;
  for (const [name, value] of Object.entries(props.attrs ?? {})) setAttribute(element, name, value);
  for (const [name, run] of Object.entries(props.on ?? {})) element.addEventListener(name, run);
  element.append(...children);
  return element;
}

/** `true` sets an empty attribute, `false` removes it. ARIA states are words: pass "true" or "false".
 * @param {Element} element @param {string} name @param {string | boolean | number} value */
export function setAttribute(element, name, value) {
  if (value === false) element.removeAttribute(name);
  else {
    const text = value === true ? "" : String(value);
    if (element.getAttribute(name) !== text) element.setAttribute(name, text);
  }
}

/** Set text only when it differs, so that a selection and a screen reader are not disturbed.
 * @param {Node} node @param {string} text */
export function setText(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** Keep a list of elements in step with a list of items. An item keeps its element, and so its focus, as long as its key stays.
 * @template Item
 * @template {HTMLElement} Made
 * @param {HTMLElement} parent whose children are all made here
 * @param {Item[]} items
 * @param {(item: Item, index: number) => string} key unique within the list
 * @param {(item: Item) => Made} make
 * @param {(element: Made, item: Item, index: number) => void} update */
export function reconcile(parent, items, key, make, update) {
  const had = new Map([...parent.children].map((child) => [/** @type {HTMLElement} */ (child).dataset.key ?? "", /** @type {Made} */ (child)]));
  /** @type {Made[]} */
  const now = [];
  items.forEach((item, index) => {
    const name = key(item, index);
    const element = had.get(name) ?? make(item);
    had.delete(name);
    element.dataset.key = name;
    update(element, item, index);
    now.push(element);
  });
  for (const gone of had.values()) gone.remove();
  now.forEach((element, index) => {
    if (parent.children[index] !== element) parent.insertBefore(element, parent.children[index] ?? null);
  });
}

/** @template {HTMLElement} Found
 * @param {ParentNode} root @param {string} selector @param {new () => Found} type
 * @returns {Found} */
export function find(root, selector, type) {
  const found = root.querySelector(selector);
  if (!(found instanceof type)) throw new Error(`the page has no ${selector}`);
  return found;
}
