// @ts-check
// From the words of a timeline to what moves when. The same rules stand in src/figure/track.cpp.

import {channelCount, offsets} from './figure_body.js';

/** @typedef {{at: number, poses?: string[], contacts?: string[], helpers?: string[], events?: string[], side?: string | null, toward?: string | null, reach?: number | null}} Moment */
/** @typedef {{from: number, to: number, begin: number, end: number, ease: string, at: number}} Stretch  of one channel */
/** @typedef {{begin: number, end: number, ease: string, point: string | null, ring: boolean, along: number}} Hold  of one hand */
/** @typedef {{times: number[], values: number[]}} Motion  added to one channel */
/** @typedef {{begin: number, end: number, joint: string}} Ring */
/**
 * @typedef {object} BodyTrack
 * @property {number[]} rest
 * @property {Stretch[][]} stretches  by channel
 * @property {Motion[][]} motions     by channel
 * @property {{left: Hold[], right: Hold[]}} hands
 */
/**
 * @typedef {object} Track
 * @property {Record<string, BodyTrack>} bodies
 * @property {Ring[]} rings
 * @property {Set<string>} words
 * @property {number} held  from when on the object is in the right hand
 */

const kinds = /** @type {const} */ (['poses', 'contacts', 'helpers', 'events']);

/** @param {number} x @param {string} ease */
function eased(x, ease) {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  if (ease === 'in') return x * x;
  if (ease === 'out') return x * (2 - x);
  return x * x * (3 - 2 * x);
}

/** @param {Stretch[]} stretches @param {number} rest @param {number} t */
export function valueAt(stretches, rest, t) {
  let value = rest;
  for (const s of stretches) {
    if (t < s.begin) break;
    value = t >= s.end ? s.to : s.from + (s.to - s.from) * eased((t - s.begin) / (s.end - s.begin), s.ease);
  }
  return value;
}

/** @param {Motion} motion @param {number} t */
export function addedAt({times, values}, t) {
  if (t <= times[0] || t >= times[times.length - 1]) return 0;
  let i = 1;
  while (t > times[i]) ++i;
  return values[i - 1] + (values[i] - values[i - 1]) * eased((t - times[i - 1]) / (times[i] - times[i - 1]), 'smooth');
}

/** @param {Hold} hold @param {number} t */
export const weightAt = (hold, t) =>
  t < hold.begin ? 0 : t >= hold.end ? 1 : eased((t - hold.begin) / (hold.end - hold.begin), hold.ease);

/** @param {string} name */
function otherSide(name) {
  if (name.includes('left')) return name.replace('left', 'right');
  return name.replace('right', 'left');
}

/** Which numbers of a group change their sign in a mirror. @type {Record<string, number[]>} */
const signs = {at: [0], turn: [0], pelvis: [0], trunk: [1, 2], head: [1, 2], 'left-foot': [0, 4], 'right-foot': [0, 4], 'left-spin': [0], 'right-spin': [0]};

/** @param {string} group @param {number[]} values @param {boolean} flip @returns {[string, number[]]} */
function mirrored(group, values, flip) {
  if (!flip) return [group, values];
  const changed = values.map((v, i) => (signs[group]?.includes(i) ? -v : v));
  return [otherSide(group), changed];
}

/** @param {number | number[]} value @returns {number[]} */
const list = (value) => (Array.isArray(value) ? value : [value]);

/** @param {string | null | undefined} toward */
const sideways = (toward) => toward === 'left' || toward === 'right';

class Compiler {
  /** @param {readonly Moment[]} timeline @param {any} poses */
  constructor(timeline, poses) {
    this.timeline = timeline;
    this.poses = poses;
    this.pose = '';
    this.flip = false;
    /** @type {Map<string, number>} how often a word came, with the pose class that chose its ways */
    this.turns = new Map();
    /** @type {Set<string>} */
    this.mirroredBases = new Set();
    for (const word of Object.values(poses.words)) if (word.mirrors) this.mirroredBases.add(word.mirrors);
    /** @type {Track} */
    this.track = {bodies: {}, rings: [], words: new Set(), held: Infinity};
    for (const body of Object.keys(poses.rest)) {
      const rest = new Array(channelCount).fill(0);
      for (const [group, values] of Object.entries(poses.rest[body]))
        list(values).forEach((v, i) => (rest[offsets[group] + i] = v));
      this.track.bodies[body] = {
        rest,
        stretches: Array.from({length: channelCount}, () => []),
        motions: Array.from({length: channelCount}, () => []),
        hands: {left: [], right: []},
      };
    }
  }

  compile() {
    this.timeline.forEach((moment, index) => {
      for (const kind of kinds) for (const word of moment[kind] ?? []) this.word(word, kind === 'poses', moment, index);
    });
    this.liftFeet();
    return this.track;
  }

  /** @param {string} word @param {boolean} isPose @param {Moment} moment @param {number} index */
  word(word, isPose, moment, index) {
    this.track.words.add(word);
    const own = this.poses.words[word];
    if (!own) return;
    const base = own.mirrors ?? word;
    const ways = this.poses.words[base].ways;
    const way = this.choose(base, ways, moment);
    let flip = false;
    if (way && sideways(way.toward) && sideways(moment.toward)) {
      flip = way.toward !== moment.toward;
    } else if (way?.side) {
      if (own.mirrors) flip = true;
      else if (this.mirroredBases.has(base)) flip = false;
      else if (moment.side && !way.follows) flip = moment.side !== way.side;
      else flip = !isPose && this.flip;
    }
    if (isPose && base !== 'falling') {
      this.pose = base;
      this.flip = flip;
    } else if (isPose) {
      this.pose = base;
    }
    if (!way) return;
    const who = way.who ?? 'child';
    for (const part of way.parts) this.part(part, part.who ?? who, flip, moment, index);
  }

  /** @param {string} word @param {any[]} ways @param {Moment} moment */
  choose(word, ways, moment) {
    const open = ways.filter((way) => !(way.alone && moment.poses?.length));
    const own = open.filter((way) => way.for?.includes(this.pose));
    let held = own.length > 0 ? own : open.filter((way) => !way.for);
    const there = moment.toward ? held.filter((way) => way.toward === moment.toward || (sideways(way.toward) && sideways(moment.toward))) : [];
    if (there.length > 0) held = there;
    if (held.length === 0) return null;
    const key = `${word}/${ways.indexOf(held[0])}`;
    const turn = this.turns.get(key) ?? 0;
    this.turns.set(key, turn + 1);
    return held[turn % held.length];
  }

  /** @param {any} part @param {string} who @param {boolean} flip @param {Moment} moment @param {number} index */
  part(part, who, flip, moment, index) {
    const come = (/** @type {string} */ word) => this.track.words.has(word) || this.has(moment, word);
    if (part.when && !part.when.some(come)) return;
    if (part.unless?.some(come)) return;
    const at = moment.at;
    const own = flip && who === 'child';
    const body = this.track.bodies[who];
    const ease = part.ease ?? 'smooth';
    const takes = part.takes ?? [0, 0];
    // What a trial begins with is there from the start.
    const [begin, end] = at === 0 ? [0, 0] : [Math.max(at + takes[0], 0), at + takes[1]];
    if (part.to)
      for (const [name, values] of Object.entries(part.to)) {
        const [group, changed] = mirrored(name, list(values), own);
        changed.forEach((to, i) => this.stretch(body, offsets[group] + i, {begin, end, to, at, ease, from: 0}));
      }
    if (part.adds)
      for (const [name, frames] of Object.entries(part.adds)) this.motion(body, name, part.at.map((/** @type {number} */ d) => at + d), frames, own);
    if (part.reaches !== undefined) this.reach(body, part.reaches * this.comingReach(index), {begin, end, ease, at}, own);
    if (part.hand) {
      const hand = /** @type {'left' | 'right'} */ (own ? otherSide(part.hand) : part.hand);
      const point = part.free ? null : flip ? otherSide(part.point) : part.point;
      body.hands[hand].push({begin, end, ease, point, ring: Boolean(part.ring), along: 0});
    } else if (part.ring) {
      this.track.rings.push({begin: at + takes[0], end: Math.min(at + takes[1], this.first(part.until ?? [], index)), joint: own ? otherSide(part.ring) : part.ring});
    }
    if (part.holds) this.track.held = Math.min(this.track.held, at);
    if (part.turns) {
      // A turn that is not said to be done stops half way.
      const angle = this.turnIsDone(index) ? part.turns : part.turns / 2;
      this.turn(body, at, this.nextPose(index), own ? -angle : angle, own);
    }
    if (part.steps) this.steps(body, at, this.nextPose(index), part.steps);
  }

  /** How far the hand comes in the end: what the next moment says that says it; else half way of what there is. @param {number} index */
  comingReach(index) {
    for (const moment of this.timeline.slice(index)) if (typeof moment.reach === 'number') return moment.reach;
    return 0.5 * this.poses.reaching.shares.at(-1)[0];
  }

  /** @param {BodyTrack} body @param {number} far @param {{begin: number, end: number, ease: string, at: number}} when @param {boolean} flip */
  reach(body, far, when, flip) {
    const {from, to, shares, point} = this.poses.reaching;
    let i = 1;
    while (i + 1 < shares.length && far > shares[i][0]) ++i;
    const share = shares[i - 1][1] + ((shares[i][1] - shares[i - 1][1]) * (far - shares[i - 1][0])) / (shares[i][0] - shares[i - 1][0]);
    for (const name of Object.keys(to)) {
      const [group, first] = mirrored(name, list(from[name]), flip);
      const [, last] = mirrored(name, list(to[name]), flip);
      first.forEach((v, c) => this.stretch(body, offsets[group] + c, {...when, to: v + share * (last[c] - v), from: 0}));
    }
    body.hands[flip ? 'left' : 'right'].push({begin: when.begin, end: when.end, ease: when.ease, point: flip ? otherSide(point) : point, ring: false, along: far});
  }

  /** @param {Moment} moment @param {string} word */
  has(moment, word) {
    return kinds.some((kind) => moment[kind]?.includes(word));
  }

  /** When the first of some words comes after a moment. @param {string[]} words @param {number} index */
  first(words, index) {
    for (let i = index + 1; i < this.timeline.length; ++i)
      if (words.some((word) => this.has(this.timeline[i], word))) return this.timeline[i].at;
    return Infinity;
  }

  /** @param {number} index */
  turnIsDone(index) {
    for (let i = index + 1; i < this.timeline.length; ++i) {
      if (this.has(this.timeline[i], 'turn-done')) return true;
      if (this.timeline[i].poses?.length) return false;
    }
    return false;
  }

  /** @param {number} index */
  nextPose(index) {
    for (let i = index + 1; i < this.timeline.length; ++i) if (this.timeline[i].poses?.length) return this.timeline[i].at;
    return this.timeline[index].at + 4;
  }

  /** Adds a stretch; where it meets the one before, both are kept and hurry. @param {BodyTrack} body @param {number} channel @param {Stretch} next */
  stretch(body, channel, next) {
    const all = body.stretches[channel];
    let last = all[all.length - 1];
    while (last && last.at === next.at && last.end > next.begin) {
      all.pop();
      last = all[all.length - 1];
    }
    if (last && next.begin < last.end) {
      const middle = last.end > last.at ? last.at + 0.5 * (Math.min(last.end, next.at) - last.at) : last.at;
      next.begin = Math.min(Math.max(next.begin, middle), last.end);
      next.end = Math.max(next.end, next.begin);
      last.begin = Math.min(last.begin, next.begin);
      last.end = Math.min(last.end, next.begin);
    }
    next.from = last ? last.to : body.rest[channel];
    all.push(next);
  }

  /** @param {BodyTrack} body @param {string} name @param {number[]} times @param {(number | number[])[]} frames @param {boolean} flip */
  motion(body, name, times, frames, flip) {
    const rows = frames.map((frame) => mirrored(name, list(frame), flip));
    const group = rows[0][0];
    for (let i = 0; i < rows[0][1].length; ++i) {
      const values = rows.map((row) => row[1][i]);
      if (values.some((v) => v !== 0)) body.motions[offsets[group] + i].push({times, values});
    }
  }

  /** A turn on the spot: the feet step round in turn, the body goes with them. @param {BodyTrack} body @param {number} at @param {number} until @param {number} angle @param {boolean} flip */
  turn(body, at, until, angle, flip) {
    // Of a slow turn every step is slower: were there more of them, the first would be too small to be seen.
    const steps = Math.min(24, Math.max(6, Math.round((until - at) / 0.42)));
    const turnFrom = this.lastOf(body, offsets.turn);
    this.stretch(body, offsets.turn, {begin: at, end: until, to: turnFrom + angle, at, ease: 'smooth', from: 0});
    const feet = flip ? ['right-spin', 'left-spin'] : ['left-spin', 'right-spin'];
    for (let i = 0; i < steps; ++i) {
      const begin = at + ((until - at) * i) / steps, end = at + ((until - at) * (i + 1)) / steps;
      const middle = i + 2 >= steps ? 1 : (i + 1.5) / steps;
      const share = middle * middle * (3 - 2 * middle);
      this.stretch(body, offsets[feet[i % 2]], {begin, end, to: turnFrom + angle * share, at: begin, ease: 'smooth', from: 0});
    }
  }

  /** Steps: forward by one, then on the spot. @param {BodyTrack} body @param {number} at @param {number} until @param {number} far */
  steps(body, at, until, far) {
    const n = Math.max(2, Math.round((until - at) / 0.5));
    const o = offsets;
    for (const [i, foot] of ['left-foot', 'right-foot'].entries()) {
      const begin = at + ((until - at) * i) / n, end = at + ((until - at) * (i + 1)) / n;
      this.stretch(body, o[foot] + 1, {begin, end, to: this.lastOf(body, o[foot] + 1) + far, at: begin, ease: 'smooth', from: 0});
    }
    this.stretch(body, o.pelvis + 1, {begin: at, end: at + ((until - at) * 2) / n, to: this.lastOf(body, o.pelvis + 1) + far, at, ease: 'smooth', from: 0});
    for (let i = 2; i < n; ++i) {
      const foot = i % 2 === 0 ? 'left-foot' : 'right-foot';
      const begin = at + ((until - at) * i) / n, end = at + ((until - at) * (i + 1)) / n;
      body.motions[o[foot] + 2].push({times: [begin, (begin + end) / 2, end], values: [0, 5, 0]});
    }
  }

  /** @param {BodyTrack} body @param {number} channel */
  lastOf(body, channel) {
    const all = body.stretches[channel];
    return all.length > 0 ? all[all.length - 1].to : body.rest[channel];
  }

  /** A foot that is down and goes elsewhere is lifted on its way. */
  liftFeet() {
    const body = this.track.bodies.child;
    for (const side of ['left', 'right']) {
      const foot = offsets[`${side}-foot`];
      const height = body.stretches[foot + 2];
      for (const [channel, least] of [[foot, 0.3], [foot + 1, 0.3], [foot + 4, 3], [offsets[`${side}-spin`], 3]])
        for (const s of body.stretches[channel]) {
          if (Math.abs(s.to - s.from) < least || s.end - s.begin < 1e-6) continue;
          const low = (/** @type {number} */ t) => valueAt(height, body.rest[foot + 2], t) < 0.5;
          if (!low(s.begin) || !low(s.end)) continue;
          const middle = (s.begin + s.end) / 2;
          if (body.motions[foot + 2].some((m) => m.times[0] === s.begin && m.times[m.times.length - 1] === s.end)) continue;
          body.motions[foot + 2].push({times: [s.begin, middle, s.end], values: [0, 5, 0]});
        }
    }
  }
}

/**
 * What a timeline moves, and when.
 * @param {readonly Moment[]} timeline @param {any} poses
 * @returns {Track}
 */
export const compile = (timeline, poses) => new Compiler(timeline, poses).compile();
