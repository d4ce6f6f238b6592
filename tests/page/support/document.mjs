// As much of a document as components need that only make elements: what they wrote can be read back. Setting markup is not there at all, so
// a component that tried it would fail here.

class TextOnly {
  constructor(text) {
    this.data = String(text);
    this.parent = null;
  }
  get textContent() {
    return this.data;
  }
}

class Made {
  constructor(tag) {
    this.tag = tag;
    this.nodes = [];
    this.parent = null;
    this.attributes = {};
    this.dataset = {};
    this.listeners = {};
    this.className = "";
    this.style = { setProperty: () => {} };
    this.hidden = false;
    this.classList = { toggle: (name, on) => (this.className = [...new Set([...this.className.split(" ").filter((one) => one !== name && one !== ""), ...(on ? [name] : [])])].join(" ")) };
  }
  get children() {
    return this.nodes.filter((node) => node instanceof Made);
  }
  get parentElement() {
    return this.parent;
  }
  contains(other) {
    return other === this || this.children.some((child) => child.contains(other));
  }
  after(...nodes) {
    const next = this.parent.nodes[this.parent.nodes.indexOf(this) + 1] ?? null;
    for (const node of nodes) this.parent.insertBefore(node, next);
  }
  get firstElementChild() {
    return this.children[0] ?? null;
  }
  get textContent() {
    return this.nodes.map((node) => node.textContent).join("");
  }
  set textContent(text) {
    this.replaceChildren(...(text === "" ? [] : [String(text)]));
  }
  append(...nodes) {
    for (const node of nodes) this.insertBefore(node instanceof Made || node instanceof TextOnly ? node : new TextOnly(node), null);
  }
  replaceChildren(...nodes) {
    for (const node of [...this.nodes]) node.parent = null;
    this.nodes = [];
    this.append(...nodes);
  }
  insertBefore(node, before) {
    node.remove?.();
    this.nodes.splice(before === null ? this.nodes.length : this.nodes.indexOf(before), 0, node);
    node.parent = this;
  }
  remove() {
    if (this.parent === null) return;
    this.parent.nodes = this.parent.nodes.filter((node) => node !== this);
    this.parent = null;
  }
  setAttribute(name, value) {
    this.attributes[name] = String(value);
  }
  getAttribute(name) {
    return this.attributes[name] ?? null;
  }
  removeAttribute(name) {
    delete this.attributes[name];
  }
  hasAttribute(name) {
    return name in this.attributes;
  }
  addEventListener(name, run) {
    this.listeners[name] = run;
  }
  click() {
    this.listeners.click?.(event());
  }
  /** Whatever the user does to it; `more` are the event's own properties. */
  happens(name, more = {}) {
    this.listeners[name]?.(event(more));
  }
  scrollIntoView() {}
  select() {}
  focus() {
    document.activeElement = this;
  }
  querySelector(selector) {
    return this.querySelectorAll(selector)[0] ?? null;
  }
  /** Every element below, in their order. */
  all() {
    return this.children.flatMap((child) => [child, ...child.all()]);
  }
  /** A class or a tag. */
  querySelectorAll(selector) {
    const fits = selector.startsWith(".") ? (one) => one.className.split(" ").includes(selector.slice(1)) : (one) => one.tag === selector;
    return this.all().filter(fits);
  }
}

const event = (more = {}) => ({ preventDefault() {}, stopPropagation() {}, ...more });

globalThis.document = { activeElement: null, querySelector: () => null, createElement: (tag) => new Made(tag), createTextNode: (text) => new TextOnly(text) };

/** An element to draw in. */
export const root = () => new Made("div");
/** Texts of the elements that a selector finds. */
export const texts = (element, selector) => element.querySelectorAll(selector).map((one) => one.textContent);
