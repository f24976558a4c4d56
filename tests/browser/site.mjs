// A site of its own for each test file: the program, a store in a temporary folder, a free port.

import { spawn } from 'node:child_process';
import { once } from 'node:events';
import fs from 'node:fs';
import net from 'node:net';
import os from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../..');
const program = process.env.EVENHAND ?? path.join(root, 'build/debug/evenhand');

/** @returns {Promise<number>} */
async function freePort() {
  const server = net.createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = /** @type {net.AddressInfo} */ (server.address());
  server.close();
  await once(server, 'close');
  return port;
}

export class Site {
  /** With the option `--invite` it prints a link for one more instructor, who leads nothing. */
  static async start(options = []) {
    const site = new Site();
    site.options = options;
    site.folder = fs.mkdtempSync(path.join(os.tmpdir(), 'evenhand-browser-'));
    site.port = await freePort();
    site.base = `http://127.0.0.1:${site.port}`;
    await site.run();
    return site;
  }

  /** Starts the program on the store that is there; resolves when it serves. */
  async run() {
    // For whoever is writing pages: those of a folder in place of those in the program.
    const assets = process.env.EVENHAND_ASSETS ? ['--assets', process.env.EVENHAND_ASSETS] : [];
    const child = spawn(program, ['serve', '--store', path.join(this.folder, 'site.db'), '--port', String(this.port), ...assets, ...this.options],
      { stdio: ['ignore', 'pipe', 'pipe'] });
    this.child = child;
    this.said = '';
    await new Promise((resolve, reject) => {
      const hear = (/** @type {Buffer} */ data) => {
        this.said += data;
        if (this.said.includes('Serving') && this.said.endsWith('\n')) resolve(undefined);
      };
      child.stdout.on('data', hear);
      child.stderr.on('data', data => { this.said += data; });
      child.once('exit', code => reject(new Error(`The program ended with ${code}: ${this.said}`)));
      setTimeout(() => reject(new Error(`The program did not start: ${this.said}`)), 60000).unref();
    });
    for (let i = 0; i < 100; ++i) {
      if (await fetch(`${this.base}/health`).then(answer => answer.ok, () => false)) break;
      await new Promise(resolve => setTimeout(resolve, 50));
    }
    this.setup = /\S+\/setup#\S+/.exec(this.said)?.[0] ?? null;
    this.invitation = /one more instructor.*\n(\S+\/setup#\S+)/.exec(this.said)?.[1] ?? null;
  }

  /** Ends it as a power cut would. */
  async kill() {
    const gone = once(this.child, 'exit');
    this.child.kill('SIGKILL');
    await gone;
  }

  async stop() {
    if (this.child.exitCode === null && this.child.signalCode === null) {
      const gone = once(this.child, 'exit');
      this.child.kill('SIGTERM');
      const timer = setTimeout(() => this.child.kill('SIGKILL'), 8000);
      await gone;
      clearTimeout(timer);
    }
    fs.rmSync(this.folder, { recursive: true, force: true });
  }

  /** Asks the API outside of a browser. */
  async ask(method, where, body, cookie = '') {
    const answer = await fetch(this.base + where, {
      method,
      headers: { 'Content-Type': 'application/json', 'Sec-Fetch-Site': 'same-origin', Origin: this.base, ...(cookie ? { Cookie: cookie } : {}) },
      body: method === 'GET' ? undefined : JSON.stringify(body ?? {}),
    });
    const text = await answer.text();
    return { status: answer.status, json: text ? JSON.parse(text) : null,
      cookie: (answer.headers.getSetCookie?.() ?? [answer.headers.get('set-cookie') ?? '']).map(one => one.split(';')[0]).join('; ') };
  }

  /** The first instructor and a group; gives the group's code. */
  async prepare() {
    const token = this.setup.split('#')[1];
    const made = await this.ask('POST', '/api/setup', { token, rater: 'first-instructor', passphrase });
    if (made.status >= 300) throw new Error(`setup: ${JSON.stringify(made)}`);
    this.instructor = made.cookie;
    const group = await this.ask('POST', '/api/groups', { title: 'Browser class' }, this.instructor);
    if (group.status >= 300) throw new Error(`group: ${JSON.stringify(group)}`);
    this.group = group.json;
    this.code = group.json.code;
    return this.code;
  }

  /** One more instructor, of a site that was started with `--invite`. */
  async invite(rater) {
    const made = await this.ask('POST', '/api/setup', { token: this.invitation.split('#')[1], rater, passphrase });
    if (made.status !== 201) throw new Error(`invitation: ${JSON.stringify(made)}`);
    return made.cookie;
  }
}

export const passphrase = 'green lamp uphill paper';
