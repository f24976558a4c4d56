// @ts-check
// The jointed figure: where everything is at an instant of a timeline, and how that is drawn.
// Drawn by shape alone: near limbs thick, far limbs thin, contacts ringed. Colors come from css/figure.css.

import {between, offsets, plus, reachFor, solve, turned} from './figure_body.js';
import {addedAt, compile, valueAt, weightAt} from './figure_track.js';

/** @typedef {import('./figure_body.js').Point} Point */
/** @typedef {import('./figure_body.js').Body} Body */
/** @typedef {import('./figure_track.js').Track} Track */
/**
 * @typedef {object} State
 * @property {Record<string, Body>} bodies  child; helper and second when they are there
 * @property {number} eyes      1 open, 0 closed
 * @property {number} flutter   of closed lids
 * @property {{at: Point, strength: number}[]} rings
 * @property {string[]} scenery
 * @property {Point | null} held  where the object is, once it is in the hand
 * @property {any} poses
 */

/** @type {WeakMap<readonly any[], {poses: any, track: Track}>} */
const tracks = new WeakMap();

/** @param {readonly any[]} timeline @param {any} poses */
function trackOf(timeline, poses) {
  const known = tracks.get(timeline);
  if (known && known.poses === poses) return known.track;
  const track = compile(timeline, poses);
  tracks.set(timeline, {poses, track});
  return track;
}

/** Slow waves that never repeat within a trial, the same for everyone. @param {number} t @param {number} shift */
const waves = (t, shift) =>
  Math.sin(1.7 * t + shift) + 0.5 * Math.sin(3.83 * t + 2.1 * shift + 1.1) + 0.25 * Math.sin(7.1 * t + 0.7 * shift + 2.3);

/** @param {import('./figure_track.js').BodyTrack} body @param {number} t @param {number} shift */
function channelsAt(body, t, shift) {
  const c = body.rest.map((rest, i) => {
    let value = valueAt(body.stretches[i], rest, t);
    for (const motion of body.motions[i]) value += addedAt(motion, t);
    return value;
  });
  const [pelvis, trunk] = [c[offsets.sway], c[offsets.sway + 1]];
  c[offsets.pelvis] += 0.45 * pelvis * waves(t, shift);
  c[offsets.pelvis + 1] += 0.35 * pelvis * waves(t, shift + 4);
  c[offsets.trunk] += 0.5 * trunk * waves(t, shift + 4.4);
  c[offsets.trunk + 1] += 0.6 * trunk * waves(t, shift + 0.4);
  c[offsets.head + 1] += 0.4 * trunk * waves(t, shift + 0.8);
  for (const side of ['left', 'right']) c[offsets[`${side}-foot`] + 2] = Math.max(c[offsets[`${side}-foot`] + 2], 0);
  return c;
}

/** @param {string} name @param {Record<string, Body>} bodies @param {any} poses @returns {Point} */
function pointOf(name, bodies, poses) {
  const point = poses.points[name];
  const at = /** @type {Point} */ (point.at);
  if (point.of === 'room') return at;
  const body = bodies[point.of];
  if (point.part !== 'trunk') return plus(body.joints[point.part], turned(at, body.turn));
  const {left, forward, up} = body.trunk;
  const along = plus(body.joints.pelvis, up, at[2]);
  if (point.turned === false) return plus(along, [at[0], at[1], 0]);
  return plus(plus(along, left, at[0]), forward, at[1]);
}

/** @param {readonly any[]} timeline */
const hasSecond = (timeline) =>
  timeline.some((m) => (m.helpers ?? []).some((/** @type {string} */ w) => w.startsWith('second-adult')));

/**
 * Where everything is at an instant.
 * @param {readonly any[]} timeline  moments as the server gives them
 * @param {number} t      seconds from the start of the trial
 * @param {any} poses     what GET /api/poses gives
 * @returns {State}
 */
export function poseAt(timeline, t, poses) {
  const track = trackOf(timeline, poses);
  const names = ['child', 'helper'];
  if (hasSecond(timeline)) names.push('second');
  /** @type {Record<string, Body>} */
  const bodies = {};
  let eyes = 1, flutter = 0;
  names.forEach((name, i) => {
    const channels = channelsAt(track.bodies[name], t, 5 * i);
    bodies[name] = solve(poses.bodies[name === 'second' ? 'helper' : name], channels, name !== 'child');
    if (name === 'child') [eyes, flutter] = [channels[offsets.eyes], channels[offsets.eyes + 1]];
  });
  /** @type {{at: Point, strength: number}[]} */
  const rings = [];
  for (const name of names)
    for (const side of /** @type {const} */ (['left', 'right'])) {
      const body = bodies[name];
      const angled = body.joints[`${side}-hand`];
      let to = angled, all = 0, ring = 0;
      for (const hold of track.bodies[name].hands[side]) {
        const weight = weightAt(hold, t);
        if (t < hold.begin) break;
        to = between(to, hold.point ? plus(pointOf(hold.point, bodies, poses), [0, hold.along, 0]) : angled, weight);
        all = hold.point ? Math.max(all, weight) : all * (1 - weight);
        ring = hold.point && hold.ring && weight >= 1 ? 1 : ring * (1 - weight);
      }
      if (all > 0) reachFor(body, poses.bodies[name === 'second' ? 'helper' : name], side, to, all);
      if (ring > 0.5) rings.push({at: body.joints[`${side}-hand`], strength: ring});
    }
  for (const ring of track.rings)
    if (t >= ring.begin && t < ring.end) rings.push({at: bodies.child.joints[ring.joint], strength: 1});
  const scenery = Object.keys(poses.scenery).filter((name) => {
    const {when, unless} = poses.scenery[name];
    const any = (/** @type {string[]} */ words) => words.some((word) => track.words.has(word));
    return (!when || any(when)) && !(unless && any(unless));
  });
  return {bodies, eyes, flutter, rings, scenery, held: t >= track.held ? bodies.child.joints['right-hand'] : null, poses};
}

/**
 * A place on the picture, in its own units, and how near it is.
 * @param {Point} p @param {{azimuth: number, elevation: number, scale: number, origin: number[]}} view
 */
export function project(p, view) {
  const a = (view.azimuth * Math.PI) / 180, e = (view.elevation * Math.PI) / 180;
  // From the front the child's left is to the right; from the side she faces right.
  const across = p[0] * Math.cos(a) + p[1] * Math.sin(a);
  const near = p[1] * Math.cos(a) - p[0] * Math.sin(a);
  const up = p[2] * Math.cos(e) - near * Math.sin(e);
  return {
    x: view.origin[0] + view.scale * across,
    y: view.origin[1] - view.scale * up,
    near: near * Math.cos(e) + p[2] * Math.sin(e),
  };
}

const xml = 'http://www.w3.org/2000/svg';

/** Keeps the elements of a picture from frame to frame, so that only what moved is written. */
class Pen {
  /** @param {SVGElement} svg */
  constructor(svg) {
    this.svg = svg;
    this.next = 0;
  }
  /** @param {string} name @param {string} css @param {Record<string, string>} attributes */
  draw(name, css, attributes) {
    let element = /** @type {any} */ (this.svg.childNodes[this.next]);
    if (!element || element.nodeName !== name) {
      const made = document.createElementNS(xml, name);
      if (element) this.svg.replaceChild(made, element);
      else this.svg.appendChild(made);
      element = made;
    }
    this.next += 1;
    const written = (element.written ??= {});
    const wanted = {class: css, ...attributes};
    for (const [key, value] of Object.entries(wanted))
      if (written[key] !== value) element.setAttribute(key, (written[key] = value));
    for (const key of Object.keys(written))
      if (!(key in wanted)) {
        element.removeAttribute(key);
        delete written[key];
      }
  }
  finish() {
    while (this.svg.childNodes.length > this.next) this.svg.lastChild?.remove();
    this.next = 0;
  }
}

const n = (/** @type {number} */ x) => x.toFixed(2).replace(/\.?0+$/, '');

/** What is drawn, back to front: the same list that src/figure/drawing.cpp makes. @param {State} state @param {string} viewName */
export function drawing(state, viewName) {
  const view = state.poses.views[viewName];
  /** @type {{name: string, css: string, attributes: Record<string, string>}[]} */
  const out = [];
  const at = (/** @type {Point} */ p) => project(p, view);
  const flat = (/** @type {{x: number, y: number}[]} */ points, /** @type {string} */ css, closed = false) =>
    out.push({name: 'path', css, attributes: {d: 'M' + points.map(({x, y}) => `${n(x)} ${n(y)}`).join('L') + (closed ? 'Z' : '')}});
  const path = (/** @type {Point[]} */ points, /** @type {string} */ css, closed = false) => flat(points.map(at), css, closed);
  const circle = (/** @type {Point} */ p, /** @type {number} */ radius, /** @type {string} */ css) =>
    out.push({name: 'circle', css, attributes: {cx: n(at(p).x), cy: n(at(p).y), r: n(radius * view.scale)}});

  for (const name of state.scenery)
    if (state.poses.scenery[name].views?.includes(viewName) ?? true) scenery(state.poses.scenery[name], name === 'eraser' ? state.held : null, path);

  const order = Object.keys(state.bodies).sort((a, b) => at(state.bodies[a].joints.pelvis).near - at(state.bodies[b].joints.pelvis).near);
  if (order.includes('child')) order.push(...order.splice(order.indexOf('child'), 1));
  // An adult's arm that comes round the front of the child is drawn over her.
  const chest = at(between(state.bodies.child.joints.pelvis, state.bodies.child.joints.neck)).near;
  const round = (/** @type {string} */ name, /** @type {string} */ s) => name !== 'child' && at(state.bodies[name].joints[`${s}-hand`]).near > chest + 3;
  for (const name of order) body(name);
  for (const name of order) for (const s of ['left', 'right']) if (round(name, s)) arm(name, s, '');
  for (const ring of state.rings) circle(ring.at, 5, 'fig-ring');
  return out;

  /** @param {string} name @param {string} s @param {string} css */
  function arm(name, s, css) {
    const {joints: j} = state.bodies[name];
    const who = name === 'child' ? 'fig-child' : 'fig-adult';
    path([j[`${s}-shoulder`], j[`${s}-elbow`], j[`${s}-hand`]], `fig-limb fig-arm ${who}${css}`);
    circle(j[`${s}-hand`], name === 'child' ? 2.6 : 3.4, `fig-hand ${who}${css}`);
  }

  /** @param {string} name */
  function body(name) {
    const {joints: j, face, trunk} = state.bodies[name];
    const lengths = state.poses.bodies[name === 'second' ? 'helper' : name];
    const who = name === 'child' ? 'fig-child' : 'fig-adult';
    const leftNear = at(j['left-hip']).near >= at(j['right-hip']).near;
    const leftArmNear = at(j['left-shoulder']).near >= at(j['right-shoulder']).near;
    const aside = Math.abs(at(j['left-hip']).near - at(j['right-hip']).near) > lengths.hips;
    const far = (/** @type {boolean} */ isLeft, /** @type {boolean} */ nearLeft) => (aside && isLeft !== nearLeft ? ' fig-far' : '');
    const leg = (/** @type {string} */ s, /** @type {string} */ css) => {
      path([j[`${s}-hip`], j[`${s}-knee`], j[`${s}-ankle`]], `fig-limb ${who}${css}`);
      path([j[`${s}-heel`], j[`${s}-ball`], j[`${s}-knuckle`], j[`${s}-toe`]], `fig-foot ${who}${css}`);
      path([j[`${s}-ankle`], j[`${s}-heel`]], `fig-foot ${who}${css}`);
    };
    const legs = leftNear ? ['right', 'left'] : ['left', 'right'];
    const arms = leftArmNear ? ['right', 'left'] : ['left', 'right'];
    // An arm behind the trunk is drawn before it.
    const middle = at(between(j.pelvis, j.neck)).near;
    const behind = (/** @type {string} */ s) => at(j[`${s}-hand`]).near + at(j[`${s}-elbow`]).near < 2 * middle;
    for (const s of arms) if (behind(s) && !round(name, s)) arm(name, s, far(s === 'left', leftArmNear));
    leg(legs[0], far(legs[0] === 'left', leftNear));
    leg(legs[1], '');
    flat(outline(j, trunk, lengths), `fig-trunk ${who}`, true);
    const front = plus(between(j.pelvis, j.neck, 0.9), trunk.forward, 4.5);
    if (at(front).near > at(between(j.pelvis, j.neck, 0.9)).near - 1)
      path([front, plus(between(j.pelvis, j.neck, 0.35), trunk.forward, 5)], `fig-mark ${who}`);
    path([j.neck, plus(j.head, face.up, -lengths.head)], `fig-limb fig-neck ${who}`);
    head(name, who, lengths.head);
    for (const s of arms) if (!behind(s) && !round(name, s)) arm(name, s, far(s === 'left', leftArmNear));
  }

  /**
   * The trunk as it is seen: elliptic across, as wide as the turn makes it.
   * @param {Record<string, Point>} j @param {Body['trunk']} trunk @param {Record<string, number>} lengths
   */
  function outline(j, trunk, lengths) {
    const low = plus(j.pelvis, trunk.up, -2);
    const broad = Math.abs(at(plus(low, trunk.left)).x - at(low).x) / view.scale, deep = Math.abs(at(plus(low, trunk.forward)).x - at(low).x) / view.scale;
    const wide = (/** @type {number} */ x, /** @type {number} */ y) => Math.hypot(x * broad, y * deep);
    const a = at(low), b = at(j.neck);
    const length = Math.hypot(b.x - a.x, b.y - a.y);
    const across = length > 2 ? [-(b.y - a.y) / length, (b.x - a.x) / length] : [1, 0];
    const deepest = 0.2 * lengths.trunk;
    const top = wide(lengths.shoulders, deepest * 0.8), bottom = wide(lengths.hips, deepest);
    const corner = (/** @type {{x: number, y: number}} */ from, /** @type {number} */ far) =>
      ({x: from.x + view.scale * far * across[0], y: from.y + view.scale * far * across[1]});
    return [corner(b, top), corner(b, -top), corner(a, -bottom), corner(a, bottom)];
  }

  /** @param {string} name @param {string} who @param {number} r */
  function head(name, who, r) {
    const {joints: j, face} = state.bodies[name];
    const on = (/** @type {number} */ left, /** @type {number} */ forward, /** @type {number} */ up) =>
      plus(plus(plus(j.head, face.left, r * left), face.forward, r * forward), face.up, r * up);
    const seen = (/** @type {Point} */ p) => at(p).near > at(j.head).near - 0.1 * r;
    circle(j.head, r, `fig-head ${who}`);
    // Hair shows which way the head faces: what of it is on the near side is seen.
    const hair = (/** @type {number[][]} */ points) => {
      const places = points.map(([x, y, z]) => on(x, y, z));
      for (let i = 1; i < places.length; ++i)
        if (at(between(places[i - 1], places[i])).near > at(j.head).near - 0.15 * r) path([places[i - 1], places[i]], `fig-hair ${who}`);
    };
    hair([[0, 0.55, 0.84], [0, 0.2, 0.98], [0, -0.25, 0.97], [0, -0.62, 0.78], [0, -0.88, 0.48], [0, -1, 0.1], [0, -0.96, -0.3]]);
    hair([[-0.95, -0.1, 0.3], [-0.8, 0.02, 0.6], [-0.45, 0.1, 0.89], [0, 0.15, 0.99], [0.45, 0.1, 0.89], [0.8, 0.02, 0.6], [0.95, -0.1, 0.3]]);
    for (const x of [-0.5, 0.5]) hair([[x, -0.5, 0.7], [x, -0.82, 0.28], [x, -0.84, -0.2]]);
    const nose = on(0, 1.14, -0.1);
    if (seen(on(0, 1, -0.1))) path([on(0, 0.98, 0.08), nose, on(0, 0.97, -0.18)], `fig-line ${who}`);
    for (const x of [-0.4, 0.4]) {
      const eye = on(x, 0.9, 0.16);
      if (!seen(eye)) continue;
      if (name !== 'child' || state.eyes > 0.5) {
        circle(eye, name === 'child' ? 1.5 : 1.2, `fig-eye ${who}`);
      } else {
        const lid = 0.04 + 0.1 * state.flutter;
        path([on(x - 0.2, 0.9, 0.18), on(x, 0.95, 0.18 - lid), on(x + 0.2, 0.9, 0.18)], `fig-lid ${who}`);
        for (const k of [-0.12, 0, 0.12]) path([on(x + k, 0.95, 0.14 - lid / 2), on(x + 1.3 * k, 0.98, -0.02 - lid)], `fig-lash ${who}`);
      }
    }
    if (seen(on(0, 0.9, -0.45))) path([on(-0.22, 0.88, -0.42), on(0, 0.92, -0.48), on(0.22, 0.88, -0.42)], `fig-line ${who}`);
  }
}

/** @param {any} thing @param {Point | null} held @param {(points: Point[], css: string, closed?: boolean) => void} path */
function scenery(thing, held, path) {
  for (const [x0, x1, y0, y1, z0, z1] of thing.boxes ?? []) {
    const shift = held ? /** @type {Point} */ ([held[0] - (x0 + x1) / 2, held[1] - (y0 + y1) / 2, held[2] - z1]) : [0, 0, 0];
    const p = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ z) =>
      /** @type {Point} */ ([x + shift[0], y + shift[1], z + shift[2]]);
    if (z1 > z0) {
      path([p(x0, y1, z0), p(x1, y1, z0), p(x1, y1, z1), p(x0, y1, z1)], 'fig-thing', true);
      path([p(x0, y0, z0), p(x0, y1, z0), p(x0, y1, z1), p(x0, y0, z1)], 'fig-thing', true);
    }
    path([p(x0, y0, z1), p(x1, y0, z1), p(x1, y1, z1), p(x0, y1, z1)], z1 > 0 ? 'fig-thing' : 'fig-floor', true);
  }
  for (const line of thing.lines ?? []) path(line, 'fig-line-thing');
  if (thing.ticks) {
    const {from, step, count, up, long} = thing.ticks;
    for (let i = 0; i < count; ++i) {
      const foot = plus(from, step, i);
      path([foot, plus(foot, up, i % long === 0 ? 2 : 1)], 'fig-line-thing');
    }
  }
}

/**
 * Draws a state into an SVG element.
 * @param {SVGSVGElement} svg @param {State} state @param {{view?: string}} [options]
 */
export function drawFigure(svg, state, {view = 'front'} = {}) {
  const {width, height} = state.poses.views[view];
  const box = `0 0 ${width} ${height}`;
  if (svg.getAttribute('viewBox') !== box) svg.setAttribute('viewBox', box);
  const pen = /** @type {any} */ (svg).pen ?? (/** @type {any} */ (svg).pen = new Pen(svg));
  for (const {name, css, attributes} of drawing(state, view)) pen.draw(name, css, attributes);
  pen.finish();
}
