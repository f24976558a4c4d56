// The browser's figure against the program's: the same joints and the same pictures, to 0.1 units.
//   FIGURE_SHEETS=build/debug/tests/figure/figure_sheets node --test tests/figure/figure_test.mjs

import assert from 'node:assert/strict';
import {execFileSync} from 'node:child_process';
import {readFileSync} from 'node:fs';
import test from 'node:test';

import {drawing, poseAt, project} from '../../src/server/web/js/figure.js';

const ask = (what) => JSON.parse(execFileSync(process.env.FIGURE_SHEETS, [what], {maxBuffer: 1 << 28}).toString());
const poses = ask('poses');

test('joints are where tests/figure/joints.json says', () => {
  let worst = 0, compared = 0;
  for (const {name, timeline, pictures} of JSON.parse(readFileSync('tests/figure/joints.json', 'utf8')))
    for (const {t, joints} of pictures) {
      const state = poseAt(timeline, t, poses);
      assert.deepEqual(Object.keys(state.bodies).sort(), Object.keys(joints).sort(), name);
      for (const [body, parts] of Object.entries(joints))
        for (const [joint, views] of Object.entries(parts))
          for (const [view, [x, y]] of Object.entries(views)) {
            const at = project(state.bodies[body].joints[joint], poses.views[view]);
            const off = Math.max(Math.abs(at.x - x), Math.abs(at.y - y));
            worst = Math.max(worst, off);
            compared += 1;
            assert.ok(off < 0.1, `${name} at ${t} s: ${body} ${joint} from the ${view}: ${at.x}, ${at.y} and not ${x}, ${y}`);
          }
    }
  assert.ok(compared > 5000, `${compared} compared`);
  console.log(`${compared} places compared, worst ${worst.toFixed(4)}`);
});

test('every trial is drawn as the program draws it', () => {
  let compared = 0;
  for (const {name, timeline, pictures} of ask('drawings'))
    for (const {t, view, elements} of pictures) {
      const own = drawing(poseAt(timeline, t, poses), view);
      assert.deepEqual(own.map((e) => `${e.name} ${e.css}`), elements.map(([tag, css]) => `${tag} ${css}`), `${name} at ${t} s from the ${view}`);
      own.forEach((element, i) => {
        for (const [key, value] of elements[i][2]) {
          const numbers = (text) => text.match(/-?[\d.]+/g).map(Number);
          const [mine, theirs] = [numbers(element.attributes[key]), numbers(value)];
          assert.equal(mine.length, theirs.length);
          mine.forEach((x, k) => assert.ok(Math.abs(x - theirs[k]) < 0.1, `${name} at ${t} s: ${element.css} ${key}: ${element.attributes[key]} and not ${value}`));
          compared += mine.length;
        }
      });
    }
  assert.ok(compared > 100000, `${compared} compared`);
});
