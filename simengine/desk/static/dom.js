/**
 * Making and keeping parts of a page.
 *
 * Rules of this file:
 * - Text goes in as text, never as markup.
 * - What stays stays the same element: a button under a finger is never replaced.
 */

/**
 * Make an element.
 *
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, string | boolean | undefined>} [attributes] `true` sets an empty
 *   attribute, `false` and `undefined` leave it out
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) put(element, name, value);
  element.append(...children);
  return element;
}

/**
 * Set or take away one attribute, touching the page only if it changes.
 *
 * @param {Element} element
 * @param {string} name
 * @param {string | boolean | undefined} value
 */
export function put(element, name, value) {
  if (value === false || value === undefined) {
    if (element.hasAttribute(name)) element.removeAttribute(name);
    return;
  }
  const text = value === true ? "" : value;
  if (element.getAttribute(name) !== text) element.setAttribute(name, text);
}

/**
 * Set an element's text, touching the page only if it changes.
 *
 * @param {Element} element
 * @param {string} text
 */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * The element with this id, which the page must have.
 *
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const element = document.getElementById(id);
  if (!element) throw new Error(`the page has no #${id}`);
  return element;
}

/**
 * A part of an element that must be there.
 *
 * @param {Element} parent
 * @param {string} selector
 * @returns {HTMLElement}
 */
export function part(parent, selector) {
  const element = parent.querySelector(selector);
  if (!(element instanceof HTMLElement)) throw new Error(`no ${selector}`);
  return element;
}

/**
 * Bring the children of `parent` in line with `items`, keeping the element of each key.
 *
 * @template T
 * @param {Element} parent
 * @param {readonly T[]} items
 * @param {(item: T) => string} keyOf unique among the items
 * @param {(item: T) => HTMLElement} create
 * @param {(element: HTMLElement, item: T) => void} update
 * @param {boolean} [mayMove] false: elements that are there keep their places for now
 */
export function keep(parent, items, keyOf, create, update, mayMove = true) {
  /** @type {Map<string, HTMLElement>} */
  const old = new Map();
  for (const child of parent.children) {
    if (child instanceof HTMLElement && child.dataset.keep) old.set(child.dataset.keep, child);
  }
  /** @type {HTMLElement[]} */
  const wanted = [];
  for (const item of items) {
    const key = keyOf(item);
    let element = old.get(key);
    old.delete(key);
    if (!element) {
      element = create(item);
      element.dataset.keep = key;
      if (!mayMove) parent.append(element);
    }
    update(element, item);
    wanted.push(element);
  }
  for (const gone of old.values()) gone.remove();
  if (!mayMove) return;
  wanted.forEach((element, place) => {
    if (parent.children[place] !== element) {
      parent.insertBefore(element, parent.children[place] ?? null);
    }
  });
}
