// SPDX-License-Identifier: MIT
// Runs in the page that browser.sh puts together, after `picture`, `read` (JSON of `tawny read`) and `regions` (the region file). Writes a
// line for each region: its label, lab_d50, the mean linear sRGB the browser shows there, and the share of pixels at an end of the scale.
'use strict';

const linear = (code) => (code <= 0.04045 * 255 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4);

// Of a line of the region file: cells 1 and 7, and the numbers of the last, quoted one.
function outline(line) {
  const cells = line.split(',');
  return { photo: cells[0], region: cells[1], shape: cells[7], points: line.split('"')[1].trim().split(/[\s,]+/).map(Number) };
}

function path(shape, p) {
  const made = new Path2D();
  if (shape === 'rectangle') made.rect(...p);
  else if (shape === 'circle') made.arc(p[0], p[1], p[2], 0, 2 * Math.PI);
  else for (let i = 0; i < p.length; i += 2) made.lineTo(p[i], p[i + 1]);
  made.closePath();
  return made;
}

function mean(context, data, width, inside) {
  const sum = [0, 0, 0];
  let count = 0, ends = 0;
  for (let i = 0; i < data.length / 4; i++) {
    if (!context.isPointInPath(inside, (i % width) + 0.5, Math.floor(i / width) + 0.5)) continue;
    const codes = [...data.slice(4 * i, 4 * i + 3)];
    codes.forEach((code, k) => (sum[k] += linear(code)));
    ends += codes.some((code) => code === 0 || code === 255);
    count++;
  }
  return [...sum.map((x) => x / count), ends / count];
}

function lines(image) {
  const canvas = document.createElement('canvas');
  [canvas.width, canvas.height] = [image.naturalWidth, image.naturalHeight];
  const context = canvas.getContext('2d', { colorSpace: 'srgb' });
  context.drawImage(image, 0, 0);
  const { data, width } = context.getImageData(0, 0, canvas.width, canvas.height);
  const drawn = regions.split('\n').slice(1).filter(Boolean).map(outline);
  return read.readings.map((reading) => {
    const { shape, points } = drawn.find((r) => r.photo === read.photo.file.split('/').pop() && r.region === reading.region);
    return ['region', reading.region, ...reading.lab_d50, ...mean(context, data, width, path(shape, points))].join(' ');
  });
}

const image = new Image();
image.onload = () => { document.body.textContent = ['', ...lines(image), ''].join('\n'); };
image.onerror = () => { document.body.textContent = 'the browser could not open the picture\n'; };
image.src = picture;
