/* SPDX-License-Identifier: MIT */
#include "region/trace_parts.h"

#include <stdlib.h>

size_t trace_flood(struct trace *trace, int start, int reach, int from, int to)
{
  static const int step[8][2] = {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}};
  size_t count = 0, waiting = 0;

  trace->label[start] = to;
  trace->stack[waiting++] = start;
  while (waiting > 0) {
    int at = trace->stack[--waiting];
    count++;
    for (int k = 0; k < reach; k++) {
      int column = at % trace->columns + step[k][0], row = at / trace->columns + step[k][1];
      int next = row * trace->columns + column;
      if (column >= 0 && row >= 0 && column < trace->columns && row < trace->rows &&
          trace->label[next] == from) {
        trace->label[next] = to;
        trace->stack[waiting++] = next;
      }
    }
  }
  return count;
}

/* Numbers the parts from 1 by their first cells, which go into `first_cell`; the largest comes first there. Returns how many. */
static int number_parts(struct trace *trace)
{
  int cells = trace->columns * trace->rows, parts = 0, best = 0;
  size_t most = 0;

  for (int i = 0; i < cells; i++) {
    if (trace->label[i] == PART) {
      size_t count = trace_flood(trace, i, 4, PART, parts + 1);
      trace->first_cell[parts] = i;
      best = count > most ? parts : best;
      most = count > most ? count : most;
      parts++;
    }
  }
  int first = trace->first_cell[best];
  trace->first_cell[best] = trace->first_cell[0];
  trace->first_cell[0] = first;
  return parts;
}

static int compare_bridges(const void *a, const void *b)
{
  const struct bridge *p = a, *q = b;

  if (p->length != q->length) {
    return p->length - q->length;
  }
  return p->from != q->from ? p->from - q->from : p->down - q->down;
}

/* All ways across, between different parts, along rows and columns. */
static size_t find_bridges(const struct trace *trace, struct bridge *bridge)
{
  size_t count = 0;

  for (int down = 0; down < 2; down++) {
    int lines = down ? trace->columns : trace->rows, along = down ? trace->rows : trace->columns;
    int step = down ? trace->columns : 1, aside = down ? 1 : trace->columns;
    for (int line = 0; line < lines; line++) {
      int last = -1;
      for (int k = 0; k < along; k++) {
        int i = line * aside + k * step;
        if (trace->label[i] > 0 && last >= 0 && trace->label[last] != trace->label[i]) {
          bridge[count++] = (struct bridge){last, i, (i - last) / step - 1, down};
        }
        last = trace->label[i] > 0 ? i : last;
      }
    }
  }
  qsort(bridge, count, sizeof *bridge, compare_bridges);
  return count;
}

/* Whether no other bridge crosses the way; then it is taken. */
static bool occupy(struct trace *trace, const struct bridge *bridge)
{
  int step = bridge->down ? trace->columns : 1;

  for (int i = bridge->from + step; i < bridge->to; i += step) {
    if (trace->label[i] != OUTSIDE) {
      return false;
    }
  }
  for (int i = bridge->from + step; i < bridge->to; i += step) {
    trace->label[i] = BRIDGED;
  }
  return true;
}

/* Takes the shortest ways that join parts not joined yet; `root` of a part is in the end that of all it is joined with. */
static void take_bridges(struct trace *trace, int parts, int *root)
{
  size_t count = find_bridges(trace, trace->bridge);

  for (size_t i = 0; i < count; i++) {
    int a = root[trace->label[trace->bridge[i].from]], b = root[trace->label[trace->bridge[i].to]];
    if (a != b && occupy(trace, &trace->bridge[i])) {
      trace->bridge[trace->bridges++] = trace->bridge[i];
      for (int k = 1; k <= parts; k++) {
        root[k] = root[k] == b ? a : root[k];
      }
    }
  }
}

/* Leaves PART on what the root of the largest part has, and bridges between these. */
static void keep_root(struct trace *trace, int parts, const int *root)
{
  int kept = root[trace->label[trace->first_cell[0]]];
  size_t bridges = 0;

  for (size_t i = 0; i < trace->bridges; i++) {
    if (root[trace->label[trace->bridge[i].from]] == kept) {
      trace->bridge[bridges++] = trace->bridge[i];
    }
  }
  trace->bridges = bridges;
  for (int i = 0; i < parts; i++) {
    if (root[trace->label[trace->first_cell[i]]] == kept) {
      trace->first_cell[trace->parts++] = trace->first_cell[i];
    }
  }
  for (int i = 0; i < trace->columns * trace->rows; i++) {
    trace->label[i] = trace->label[i] > 0 && root[trace->label[i]] == kept ? PART : OUTSIDE;
  }
}

bool trace_keep_parts(struct trace *trace, bool joined)
{
  size_t cells = (size_t)trace->columns * (size_t)trace->rows;

  trace->first_cell = calloc(cells, sizeof *trace->first_cell);
  if (!trace->first_cell) {
    return false;
  }
  int parts = number_parts(trace);
  int *root = calloc((size_t)parts + 1, sizeof *root);
  trace->bridge = joined ? calloc(2 * cells, sizeof *trace->bridge) : NULL;
  bool done = root && (trace->bridge || !joined);
  for (int k = 1; done && k <= parts; k++) {
    root[k] = k;
  }
  if (done && joined) {
    take_bridges(trace, parts, root);
  }
  if (done && parts > 0) {
    keep_root(trace, parts, root);
  }
  free(root);
  return done;
}
