// @ts-check
// A body in space: from channels (places and angles) to joints. The same arithmetic stands in
// src/figure/body.cpp; tests/figure/joints.json holds both to the same places.

/** @typedef {[number, number, number]} Point  x to the child's left, y forward, z up; centimeters */
/** @typedef {Record<string, number>} Lengths */
/**
 * @typedef {object} Body
 * @property {Record<string, Point>} joints
 * @property {{left: Point, forward: Point, up: Point}} trunk  axes of the trunk
 * @property {{left: Point, forward: Point, up: Point}} face   axes of the head
 * @property {number} turn  of the pelvis, degrees
 */

/** The groups of channels and how many numbers each has. */
export const groups = {
  at: 2, turn: 1, pelvis: 3, trunk: 3, head: 3, 'left-arm': 4, 'right-arm': 4,
  'left-foot': 5, 'right-foot': 5, 'left-spin': 1, 'right-spin': 1, eyes: 2, toes: 1, sway: 2,
};

/** Where each group begins in a list of all channels. @type {Record<string, number>} */
export const offsets = {};
/** How many channels a body has. */
export let channelCount = 0;
for (const [name, size] of Object.entries(groups)) {
  offsets[name] = channelCount;
  channelCount += size;
}

const sin = (/** @type {number} */ degrees) => Math.sin((degrees * Math.PI) / 180);
const cos = (/** @type {number} */ degrees) => Math.cos((degrees * Math.PI) / 180);

/** @param {Point} a @param {Point} b @param {number} [k] @returns {Point} */
export const plus = (a, b, k = 1) => [a[0] + k * b[0], a[1] + k * b[1], a[2] + k * b[2]];
/** @param {Point} a @param {Point} b */
export const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
/** @param {Point} a @param {Point} b @returns {Point} */
export const between = (a, b, k = 0.5) => [a[0] + k * (b[0] - a[0]), a[1] + k * (b[1] - a[1]), a[2] + k * (b[2] - a[2])];
/** @param {Point} a */
const length = (a) => Math.sqrt(dot(a, a));
/** @param {Point} a @returns {Point} */
const unit = (a) => {
  const l = length(a);
  return l < 1e-9 ? [0, 0, 1] : [a[0] / l, a[1] / l, a[2] / l];
};
/** What of `a` is square to the unit vector `axis`. @param {Point} a @param {Point} axis @returns {Point} */
const square = (a, axis) => plus(a, axis, -dot(a, axis));

/** A local (left, forward, up) as seen from a body turned by `yaw`. @param {Point} p @param {number} yaw @returns {Point} */
export function turned(p, yaw) {
  const s = sin(yaw), c = cos(yaw);
  return [p[0] * c + p[1] * s, -p[0] * s + p[1] * c, p[2]];
}

/** @param {number} pitch @param {number} roll @param {number} yaw @returns {Point} */
const upward = (pitch, roll, yaw) => turned([sin(roll), cos(roll) * sin(pitch), cos(roll) * cos(pitch)], yaw);

/** @param {Point} up @param {number} yaw */
function axes(up, yaw) {
  const left = unit(square(turned([1, 0, 0], yaw), up));
  const forward = unit(square(square(turned([0, 1, 0], yaw), up), left));
  return {left, forward, up};
}

/**
 * Two bones from `from` toward `to`, the joint between them on the side of `pole`. The end falls short where
 * the bones are too short: their lengths never give.
 * @param {Point} from @param {Point} to @param {number} first @param {number} second @param {Point} pole
 * @returns {{middle: Point, end: Point}}
 */
function twoBones(from, to, first, second, pole) {
  const away = plus(to, from, -1);
  const far = length(away);
  const most = first + second - 1e-6, least = Math.abs(first - second) + 1e-6;
  const d = Math.min(Math.max(far, least), most);
  const axis = far < 1e-9 ? /** @type {Point} */ ([0, 0, -1]) : unit(away);
  const side = unit(square(pole, axis));
  const along = (first * first - second * second + d * d) / (2 * d);
  const off = Math.sqrt(Math.max(first * first - along * along, 0));
  return {middle: plus(plus(from, axis, along), side, off), end: plus(from, axis, d)};
}

/** The share of a leg's length that it is used to: a knee is never quite straight. */
const leg_share = 0.994;

/**
 * Joints of one body.
 * @param {Lengths} lengths @param {ArrayLike<number>} c  channels
 * @param {boolean} feetTurn  the feet turn with the body, instead of by their own spin
 * @returns {Body}
 */
export function solve(lengths, c, feetTurn) {
  /** @type {Record<string, Point>} */
  const joints = {};
  const o = offsets;
  const turn = c[o.turn];
  const place = /** @type {Point} */ ([c[o.at], c[o.at + 1], 0]);

  /** @type {Record<string, {ankle: Point, forward: Point}>} */
  const feet = {};
  for (const side of ['left', 'right']) {
    const f = o[`${side}-foot`];
    const spin = feetTurn ? turn : c[o[`${side}-spin`]];
    const sole = plus(place, turned([c[f], c[f + 1], c[f + 2]], spin));
    const pitch = c[f + 3], yaw = spin + c[f + 4];
    const along = turned([0, cos(pitch), -sin(pitch)], yaw);
    const above = turned([0, sin(pitch), cos(pitch)], yaw);
    const ball = plus(sole, along, lengths.foot - lengths.heel - lengths.toes);
    const grip = c[o.toes];
    joints[`${side}-foot`] = sole;
    joints[`${side}-heel`] = plus(sole, along, -lengths.heel);
    joints[`${side}-ball`] = ball;
    joints[`${side}-knuckle`] = plus(plus(ball, along, 0.5 * lengths.toes), above, 3 * grip);
    joints[`${side}-toe`] = plus(ball, along, lengths.toes * (1 - 0.3 * grip));
    feet[side] = {ankle: plus(sole, above, lengths.ankle), forward: turned([0, 1, 0], yaw)};
  }

  // The pelvis is where it should be, or as high as both legs let it.
  const left = turned([1, 0, 0], turn);
  let pelvis = plus(place, turned([c[o.pelvis], c[o.pelvis + 1], c[o.pelvis + 2]], turn));
  const reach = leg_share * (lengths.thigh + lengths.shank);
  for (const side of ['left', 'right']) {
    const hip = plus(pelvis, left, side === 'left' ? lengths.hips : -lengths.hips);
    const {ankle} = feet[side];
    const flat = (hip[0] - ankle[0]) ** 2 + (hip[1] - ankle[1]) ** 2;
    const highest = ankle[2] + Math.sqrt(Math.max(reach * reach - flat, 0));
    if (pelvis[2] > highest) pelvis = [pelvis[0], pelvis[1], highest];
  }
  joints.pelvis = pelvis;

  for (const side of ['left', 'right']) {
    const sign = side === 'left' ? 1 : -1;
    const hip = plus(pelvis, left, sign * lengths.hips);
    const {ankle, forward} = feet[side];
    const pole = plus(plus(forward, turned([0, 1, 0], turn)), left, sign * 0.16);
    const leg = twoBones(hip, ankle, lengths.thigh, lengths.shank, pole);
    joints[`${side}-hip`] = hip;
    joints[`${side}-knee`] = leg.middle;
    joints[`${side}-ankle`] = leg.end;
  }

  const t = o.trunk, h = o.head;
  const trunk = axes(upward(c[t], c[t + 1], turn), turn + c[t + 2]);
  const neck = plus(pelvis, trunk.up, lengths.trunk);
  const face = axes(upward(c[h], c[h + 1], turn), turn + c[t + 2] + c[h + 2]);
  joints.neck = neck;
  joints.head = plus(neck, face.up, lengths.neck + lengths.head);
  joints.back = plus(plus(pelvis, trunk.up, 0.7 * lengths.trunk), trunk.forward, -5);
  joints.seat = plus(pelvis, [0, 0, 1], -5);

  for (const side of ['left', 'right']) {
    const sign = side === 'left' ? 1 : -1;
    const a = o[`${side}-arm`];
    const shoulder = plus(neck, trunk.left, sign * lengths.shoulders);
    const bone = (/** @type {number} */ pitch, /** @type {number} */ roll) =>
      turned([sign * sin(roll), cos(roll) * sin(pitch), -cos(roll) * cos(pitch)], turn + c[t + 2]);
    const elbow = plus(shoulder, bone(c[a], c[a + 1]), lengths['upper-arm']);
    joints[`${side}-shoulder`] = shoulder;
    joints[`${side}-elbow`] = elbow;
    joints[`${side}-hand`] = plus(elbow, bone(c[a + 2], c[a + 3]), lengths['lower-arm']);
  }
  return {joints, trunk, face, turn};
}

/**
 * Brings a hand to a point, as far as the arm reaches.
 * @param {Body} body @param {Lengths} lengths @param {'left' | 'right'} side @param {Point} to
 * @param {number} weight  how much of the way there is done: the elbow leaves the place that its angles give
 */
export function reachFor(body, lengths, side, to, weight) {
  const shoulder = body.joints[`${side}-shoulder`];
  const sign = side === 'left' ? 1 : -1;
  const usual = plus(plus([0, 0, -7], body.trunk.left, sign * 6), body.trunk.forward, -3);
  const pole = between(plus(body.joints[`${side}-elbow`], shoulder, -1), usual, weight);
  const arm = twoBones(shoulder, to, lengths['upper-arm'], lengths['lower-arm'], pole);
  body.joints[`${side}-elbow`] = arm.middle;
  body.joints[`${side}-hand`] = arm.end;
}
