// SPDX-License-Identifier: MIT
// Writes culori.csv: conversions and differences as the JavaScript package culori computes them, a second implementation to hold ours
// against. In a folder where `npm install culori@VERSION` was run:  node make_culori.mjs VERSION >culori.csv
import { argv } from 'node:process';
import { createRequire } from 'node:module';

const { converter, differenceCiede2000 } = createRequire(process.cwd() + '/')('culori');
const EACH = 80;

// Park & Miller's generator, so that the table can be made again.
let state = 20111;
const random = (low, high) => {
  state = (state * 48271) % 2147483647;
  return low + ((high - low) * state) / 2147483647;
};
const round = (x, digits) => Number(x.toFixed(digits));
const randomLab = (mode) => ({ mode, l: round(random(2, 98), 3), a: round(random(-60, 60), 3), b: round(random(-60, 80), 3) });
const near = (c) => ({
  mode: c.mode, l: round(c.l + random(-3, 3), 3), a: round(c.a + random(-3, 3), 3), b: round(c.b + random(-3, 3), 3),
});
const row = (kind, given, found) =>
  console.log([kind, ...given, ...Array(6 - given.length).fill(''), ...found.map((x) => round(x, 9))].join(','));

const xyz50 = converter('xyz50'), lab = converter('lab'), lch = converter('lch'), de00 = differenceCiede2000();
console.log(`# Colours as a second implementation computes them: culori ${argv[2]} (a JavaScript package under the MIT licence), by make_culori.mjs.`);
console.log('# xyz: L a b, then X Y Z (Y 0..1) under its D50. lch: L a b, then L C h. srgb: #rrggbb, then L a b under its D50 (Bradford).');
console.log('# de00: two colours L a b, then CIEDE2000; every second pair lies within a few units.');
console.log('kind,in1,in2,in3,in4,in5,in6,out1,out2,out3');
for (let i = 0; i < EACH; i++) {
  const c = randomLab('lab'), to = xyz50(c);
  row('xyz', [c.l, c.a, c.b], [to.x, to.y, to.z]);
}
for (let i = 0; i < EACH; i++) {
  const c = randomLab('lab'), to = lch(c);
  row('lch', [c.l, c.a, c.b], [to.l, to.c, to.h]);
}
for (let i = 0; i < EACH; i++) {
  const hex = '#' + Math.floor(random(0, 0x1000000)).toString(16).padStart(6, '0'), to = lab(hex);
  row('srgb', [hex], [to.l, to.a, to.b]);
}
for (let i = 0; i < 2 * EACH; i++) {
  const c = randomLab('lab65'), d = i % 2 ? near(c) : randomLab('lab65');
  row('de00', [c.l, c.a, c.b, d.l, d.a, d.b], [de00(c, d)]);
}
