// @ts-check
// Asking the site. Every answer is JSON; a refusal becomes a Refusal with a sentence for the person.

export class Refusal extends Error {
  /**
   * @param {number} status  0: no answer came
   * @param {string} code
   * @param {string} says
   * @param {number} [wait]  seconds after which to try again
   * @param {string | null} [field]  of the body, which is at fault
   */
  constructor(status, code, says, wait = 0, field = null) {
    super(says);
    this.status = status;
    this.code = code;
    this.wait = wait;
    this.field = field;
  }
  /**
   * Whether asking again later may help. What is no answer of this site (a proxy, a hotel's page for signing in) and
   * what speaks of the way here, not of what was sent, says nothing for good.
   */
  get passing() {
    return this.code === 'unknown' || ['foreign', 'other-host', 'past-the-proxy'].includes(this.code) ||
      [0, 408, 429].includes(this.status) || this.status >= 500;
  }
}

/** What went wrong, for the person. @param {unknown} error */
export const words = error => error instanceof Refusal ? error.message : String(error);

/** When the site was last asked by this page, milliseconds since 1970: that long nobody's session rests. */
export let lastAsked = Date.now();

/**
 * @param {string} method
 * @param {string} path
 * @param {any} [body]
 * @param {number} [longest]  milliseconds to wait for the answer
 * @returns {Promise<any>}
 */
export async function send(method, path, body, longest = 15000) {
  let response;
  try {
    response = await fetch(path, {
      method,
      headers: method === 'GET' ? {} : {'Content-Type': 'application/json'},
      body: method === 'GET' ? undefined : JSON.stringify(body ?? {}),
      credentials: 'same-origin',
      signal: AbortSignal.timeout(longest),
    });
  } catch {
    throw new Refusal(0, 'offline', 'The site cannot be reached. What you entered is kept on this device.');
  }
  const json = await response.json().catch(() => null);
  if (response.ok) {
    // Cut off, or the words of somebody between: whether the site did it is not known.
    if (json === null) throw new Refusal(0, 'offline', 'No answer of this site came. What you entered is kept on this device.');
    lastAsked = Date.now();
    return json;
  }
  throw new Refusal(response.status, json?.error?.code ?? 'unknown',
    json?.error?.says ?? (response.status === 401 ? 'You are signed out.' : 'The site could not do that.'),
    Number(response.headers.get('Retry-After') ?? 0), json?.error?.field ?? null);
}

/** @param {string} path */
export const get = path => send('GET', path);

/** Whether the site itself has something there, not the copy on the device. @param {string} path */
export const isThere = path => fetch(path, {method: 'HEAD', credentials: 'same-origin', signal: AbortSignal.timeout(3000)})
  .then(response => response.ok, () => false);

/** The part of an address that is an id. @param {string} id */
export const part = id => encodeURIComponent(id);
