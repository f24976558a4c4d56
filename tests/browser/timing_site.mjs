// A page with a player and a stopwatch and nothing else, for what is measured or tried on them alone.

import {execFileSync} from 'node:child_process';
import {existsSync, readFileSync} from 'node:fs';
import {createServer} from 'node:http';
import path from 'node:path';
import {fileURLToPath} from 'node:url';

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '../..');
const web = path.join(root, 'src/server/web');
const build = process.env.EVENHAND ? path.dirname(path.resolve(process.env.EVENHAND)) : '';
const sheets = [process.env.FIGURE_SHEETS, path.join(build, 'tests/figure/figure_sheets'), path.join(root, 'build/debug/tests/figure/figure_sheets')]
  .find((file) => file && existsSync(file));

const page = `<!doctype html><html lang="en"><title>timing</title><link rel="stylesheet" href="/css/figure.css">
<div id="stage"></div><div id="watch"></div><script type="module" src="/boot.js"></script>`;
const boot = `
window.announced = [];
import {Player} from '/js/player.js';
import {Stopwatch} from '/js/stopwatch.js';
const {timeline, end, poses, options} = await (await fetch('/data.json')).json();
const player = new Player(document.getElementById('stage'), {timeline, end, poses, view: 'both', announce: (text) => announced.push(text), ...options});
const watch = new Stopwatch(document.getElementById('watch'), player);
Object.assign(window, {player, watch, readings: [], behind: [], frames: [], voids: []});
for (const name of ['started', 'ended', 'voided', 'replaying', 'idle']) player.addEventListener(name, () => (window.heard ??= []).push(name));
watch.addEventListener('reading', (event) => readings.push(event.detail));
player.addEventListener('voided', (event) => voids.push(event.detail.why));
addEventListener('keydown', (event) => behind.push(1000 * (player.timeOf(event.timeStamp) - player.drawnAt)), true);
// The player asks for its next frame after this event; asked for after that, this looks when the player has drawn.
player.addEventListener('started', () => {
  const look = (now) => { frames.push([now, (now - player.zero) - 1000 * player.drawnAt]); if (player.mode === 'live') requestAnimationFrame(look); };
  queueMicrotask(() => requestAnimationFrame(look));
});
document.querySelector('.player-play').id = 'play';
`;

/**
 * @param {object[]} timeline @param {number} end @param {object} [options]  of the player
 */
export function serve(timeline, end, options = {}) {
  if (!sheets) throw new Error('figure_sheets is not built');
  const poses = JSON.parse(execFileSync(sheets, ['poses']).toString());
  const types = {'.js': 'text/javascript', '.css': 'text/css'};
  const server = createServer((request, response) => {
    const send = (type, body) => response.writeHead(200, {'Content-Type': type}).end(body);
    if (request.url === '/') return send('text/html', page);
    if (request.url === '/boot.js') return send('text/javascript', boot);
    if (request.url === '/data.json') return send('application/json', JSON.stringify({timeline, end, poses, options}));
    const file = path.join(web, request.url);
    if (!file.startsWith(web) || !existsSync(file)) return response.writeHead(404).end();
    return send(types[path.extname(file)], readFileSync(file));
  });
  return new Promise((done) => server.listen(0, '127.0.0.1', () => done({server, base: `http://127.0.0.1:${/** @type {any} */ (server.address()).port}/`})));
}

