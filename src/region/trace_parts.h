/* SPDX-License-Identifier: MIT */
/* Which cells of a mask the outline goes round, and where it crosses from one part to another. */
#ifndef TAWNY_REGION_TRACE_PARTS_H
#define TAWNY_REGION_TRACE_PARTS_H

#include <stdbool.h>
#include <stddef.h>

/* What `label` holds besides numbers of parts and holes. */
enum { OUTSIDE = 0, PART = -1, BRIDGED = -2 };

/* A way across outside cells, `length` of them, from the cell left of it or above it to the one at its other end. */
struct bridge {
  int from, to, length; /* cells */
  bool down;
};

/* A corner in half cells of the padded mask; `next` is the index of the next in its ring. */
struct node {
  int x, y;
  size_t next;
  bool fixed;
};

/* Cells with a frame of outside cells around them. */
struct trace {
  int columns, rows; /* with the frame                                       */
  int *label;        /* owned, likewise all below                            */
  int *stack;
  size_t *node_at;   /* per place in half cells: number + 1 of the node there */
  struct node *node; /* of all rings; in the end the thinned outline         */
  size_t nodes;
  struct node *ring; /* joined, in order, not thinned                        */
  size_t corners;
  struct bridge *bridge; /* between parts that are joined                    */
  size_t bridges;
  int *first_cell; /* of each part that is taken, the largest first          */
  int parts;
};

/* Gives the cells labelled `from` that are joined to `start` the label `to`; `reach` 4 by sides, 8 also by corners. Returns how
 * many. */
size_t trace_flood(struct trace *trace, int start, int reach, int from, int to);

/* Leaves PART on the largest part and, if `joined`, on what can be joined to it, OUTSIDE elsewhere. False for want of memory. */
bool trace_keep_parts(struct trace *trace, bool joined);

#endif
