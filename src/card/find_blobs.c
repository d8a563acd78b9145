/* SPDX-License-Identifier: MIT */
/* Candidate patches: regions that stay as they are over a range of contrast.
 *
 * Every square of 2x2 pixels is a node with its gradient as level. Nodes are taken in rising order of level and joined to
 * neighbours already taken; so regions grow until their rim is as weak as the next wall, then leak and merge. A region
 * that grew little between two levels far apart, and is as solid as a rectangle, is a candidate. No threshold of contrast
 * is needed: bright and dark patches, strong and faint edges are treated alike. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "card/find_parts.h"

enum {
  LEVELS = 255,  /* gradients at or above are walls always              */
  AREA_MIN = 4,  /* nodes of a candidate                                */
  SHARE_MAX = 18 /* a candidate is at most this part of the picture     */
};
#define GROWTH 1.4 /* times the area: the region counts as another one */
#define SOLID_MIN                                                                                            \
  0.78 /* area over that of a rectangle of the same moments; a disc has 0.955, a triangle 0.866 */
#define SOLID_MAX 1.12
#define LENGTH_MAX 3.5 /* longer over shorter side */

struct region {
  int32_t parent; /* itself while it stands */
  int32_t area, mark_area, mark_level;
  float x, y, xx, xy, yy; /* sums, origin in the middle of the picture */
};

/* A node's place in one word; the sides of a picture are far below 65536. */
static uint32_t place_pack(int x, int y)
{
  return (uint32_t)y << 16 | (uint32_t)x;
}

struct tree {
  int width, height; /* in nodes */
  uint8_t *level;    /* owned, all */
  uint16_t *row;
  uint32_t *order;
  int32_t *label;        /* region of a node, -1: not taken yet */
  struct region *region; /* a new one where a node has no neighbour taken: at most every other node */
  int regions, taken, area_max;
  struct find_blobs *blobs;
  bool failed;
};

static void tree_clear(struct tree *tree)
{
  free(tree->level);
  free(tree->row);
  free(tree->order);
  free(tree->label);
  free(tree->region);
}

static bool tree_make(const struct find_picture *picture, struct find_blobs *blobs, struct tree *tree)
{
  size_t nodes;

  *tree = (struct tree){.width = picture->width - 1, .height = picture->height - 1, .blobs = blobs};
  nodes = (size_t)tree->width * (size_t)tree->height;
  tree->area_max = (int)(nodes / SHARE_MAX);
  tree->level = calloc(nodes, 1);
  tree->row = calloc(3 * (size_t)picture->width, sizeof *tree->row);
  tree->order = malloc(nodes * sizeof *tree->order);
  tree->label = malloc(nodes * sizeof *tree->label);
  tree->region = malloc((nodes / 2 + 2) * sizeof *tree->region);
  return tree->level && tree->row && tree->order && tree->label && tree->region;
}

/* Gradient of a 2x2 square by its diagonals (Roberts cross), summed over channels, halved. */
static void levels_fill(const struct find_picture *picture, struct tree *tree)
{
  for (int y = 0; y < tree->height; y++) {
    const uint8_t *a = picture->byte + 3 * (size_t)y * (size_t)picture->width;
    const uint8_t *c = a + 3 * (size_t)picture->width;
    uint8_t *level = tree->level + (size_t)y * (size_t)tree->width;
    uint16_t *row = tree->row;

    for (int i = 0; i < 3 * tree->width; i++)
      row[i] = (uint16_t)(abs(a[i] - c[i + 3]) + abs(a[i + 3] - c[i]));
    for (int x = 0; x < tree->width; x++) {
      int sum = row[3 * x] + row[3 * x + 1] + row[3 * x + 2];

      level[x] = (uint8_t)(sum >= 2 * LEVELS ? LEVELS : sum / 2);
    }
  }
}

/* Counting sort by level. */
static void nodes_sort(struct tree *tree)
{
  size_t nodes = (size_t)tree->width * (size_t)tree->height;
  int tally[LEVELS + 1] = {0}, start[LEVELS + 1], before = 0;

  for (size_t i = 0; i < nodes; i++)
    tally[tree->level[i]]++;
  for (int i = 0; i <= LEVELS; i++) {
    start[i] = before;
    before += tally[i];
  }
  tree->taken = start[LEVELS];
  for (int y = 0; y < tree->height; y++) {
    const uint8_t *level = tree->level + (size_t)y * (size_t)tree->width;

    for (int x = 0; x < tree->width; x++)
      if (level[x] < LEVELS)
        tree->order[start[level[x]]++] = place_pack(x, y);
  }
  memset(tree->label, -1, nodes * sizeof *tree->label);
}

static int32_t root_of(struct region *region, int32_t at)
{
  while (region[at].parent != at) {
    region[at].parent = region[region[at].parent].parent;
    at = region[at].parent;
  }
  return at;
}

static bool blob_add(struct find_blobs *blobs, struct find_blob blob)
{
  if (blobs->count == blobs->room) {
    int room = blobs->room ? 2 * blobs->room : 1024;
    struct find_blob *grown = realloc(blobs->blob, (size_t)room * sizeof *grown);

    if (grown == NULL)
      return false;
    blobs->blob = grown;
    blobs->room = room;
  }
  blobs->blob[blobs->count++] = blob;
  return true;
}

/* Nodes lie between pixels, so n nodes a side are a patch of n + 1 pixels: sides grow by one along the main axes. */
static struct find_blob blob_widened(double x, double y, double xx, double xy, double yy)
{
  double middle = (xx + yy) / 2, half = hypot((xx - yy) / 2, xy);
  double a = sqrt(middle + half), b = sqrt(fmax(middle - half, 0.0));
  double stretch_a = (a + 1) * (a + 1), stretch_b = (b + 1) * (b + 1);
  double sum = (stretch_a + stretch_b) / 2,
         difference = half > 1e-9 ? (stretch_a - stretch_b) / (2 * half) : 0.0;

  return (struct find_blob){.x = x,
                            .y = y,
                            .xx = (sum + difference * (xx - yy) / 2),
                            .xy = (difference * xy),
                            .yy = (sum - difference * (xx - yy) / 2),
                            .area = ((a + 1) * (b + 1))};
}

/* The region is about to become another one at `level`: a candidate if it stood still and is solid. */
static void region_close(struct tree *tree, const struct region *region, int level)
{
  double n = region->area, x = (double)region->x / n, y = (double)region->y / n;
  double xx = 12 * ((double)region->xx / n - x * x) + 1, xy = 12 * ((double)region->xy / n - x * y),
         yy = 12 * ((double)region->yy / n - y * y) + 1;
  double det = xx * yy - xy * xy, solid, middle = (xx + yy) / 2;
  int x0 = tree->width / 2 + 1, y0 = tree->height / 2 + 1;
  struct find_blob blob;

  if (level - region->mark_level < 2 + region->mark_level / 4 || det <= 0)
    return;
  solid = n / sqrt(det);
  if (solid < SOLID_MIN || solid > SOLID_MAX || middle > 0.5 * (LENGTH_MAX + 1 / LENGTH_MAX) * sqrt(det))
    return;
  blob = blob_widened(x + x0, y + y0, xx, xy, yy);
  blob.margin = (level + 4) / (double)(region->mark_level + 4);
  if (!blob_add(tree->blobs, blob))
    tree->failed = true;
}

static void region_consider(struct tree *tree, const struct region *region, int level)
{
  if (region->area >= AREA_MIN && region->area <= tree->area_max)
    region_close(tree, region, level);
}

/* The region grows to `area`; when that makes it another one, it is judged as it was. */
static void region_grow(struct tree *tree, struct region *region, int area, int level)
{
  if (area > GROWTH * region->mark_area) {
    region_consider(tree, region, level);
    region->mark_area = area;
    region->mark_level = level;
  }
  region->area = area;
}

/* The larger of two regions swallows the other; returns it. */
static int32_t regions_join(struct tree *tree, int32_t a, int32_t b, int level)
{
  struct region *kept, *gone;

  if (tree->region[a].area < tree->region[b].area) {
    int32_t other = a;

    a = b;
    b = other;
  }
  kept = &tree->region[a];
  gone = &tree->region[b];
  gone->parent = a;
  region_consider(tree, gone, level);
  region_grow(tree, kept, kept->area + gone->area, level);
  kept->x += gone->x;
  kept->y += gone->y;
  kept->xx += gone->xx;
  kept->xy += gone->xy;
  kept->yy += gone->yy;
  return a;
}

/* The region at a neighbour, joined to what the node has met already (-1: nothing). */
static int32_t neighbour_meet(struct tree *tree, int32_t met, int32_t label, int level)
{
  int32_t root;

  if (label < 0)
    return met;
  root = root_of(tree->region, label);
  return met < 0 || met == root ? root : regions_join(tree, met, root, level);
}

static void node_take(struct tree *tree, uint32_t place)
{
  int column = (int)(place & 0xffff), row = (int)(place >> 16);
  int32_t *label = tree->label + (size_t)row * (size_t)tree->width + (size_t)column, met = -1;
  int level = tree->level[label - tree->label];
  int x0 = tree->width / 2, y0 = tree->height / 2;
  float x = (float)(column - x0), y = (float)(row - y0);
  struct region *region;

  if (column > 0)
    met = neighbour_meet(tree, met, label[-1], level);
  if (column + 1 < tree->width)
    met = neighbour_meet(tree, met, label[1], level);
  if (row > 0)
    met = neighbour_meet(tree, met, label[-tree->width], level);
  if (row + 1 < tree->height)
    met = neighbour_meet(tree, met, label[tree->width], level);
  if (met < 0) {
    met = tree->regions++;
    tree->region[met] = (struct region){.parent = met, .mark_area = 1, .mark_level = level};
  }
  *label = met;
  region = &tree->region[met];
  region_grow(tree, region, region->area + 1, level);
  region->x += x;
  region->y += y;
  region->xx += x * x;
  region->xy += x * y;
  region->yy += y * y;
}

/* Regions still standing when only walls are left. */
static void regions_finish(struct tree *tree)
{
  for (int i = 0; i < tree->regions; i++)
    if (tree->region[i].parent == i)
      region_consider(tree, &tree->region[i], LEVELS);
}

/* The nearest cell to any place: maps that are tried lead far out, and to no place at all. */
static int cell_of(const struct find_blobs *blobs, double x, double y)
{
  int column = (int)fmin(fmax(x / blobs->cell, 0), blobs->columns - 1),
      row = (int)fmin(fmax(y / blobs->cell, 0), blobs->rows - 1);

  return row * blobs->columns + column;
}

void find_blobs_near(const struct find_blobs *blobs, double x, double y, double radius,
                     void (*visit)(int blob, void *context), void *context)
{
  int first = cell_of(blobs, x - radius, y - radius), last = cell_of(blobs, x + radius, y + radius);
  int left = first % blobs->columns, right = last % blobs->columns;

  for (int row = first / blobs->columns; row <= last / blobs->columns; row++)
    for (int column = left; column <= right; column++)
      for (int i = blobs->first[row * blobs->columns + column]; i >= 0; i = blobs->next[i]) {
        double dx = blobs->blob[i].x - x, dy = blobs->blob[i].y - y;

        if (dx * dx + dy * dy <= radius * radius)
          visit(i, context);
      }
}

static bool grid_make(const struct find_picture *picture, struct find_blobs *blobs)
{
  size_t cells;

  blobs->cell = 12;
  blobs->columns = picture->width / blobs->cell + 1;
  blobs->rows = picture->height / blobs->cell + 1;
  cells = (size_t)blobs->columns * (size_t)blobs->rows;
  blobs->first = malloc(cells * sizeof *blobs->first);
  blobs->next = malloc(((size_t)blobs->count + 1) * sizeof *blobs->next);
  if (blobs->first == NULL || blobs->next == NULL)
    return false;
  memset(blobs->first, -1, cells * sizeof *blobs->first);
  return true;
}

struct twin_search {
  const struct find_blobs *blobs;
  const struct find_blob *blob;
  int twin;
};

static void twin_visit(int at, void *context)
{
  struct twin_search *search = context;
  double area = search->blobs->blob[at].area, own = search->blob->area;

  if (area < 2 * own && own < 2 * area)
    search->twin = at;
}

/* Nested regions of one patch count once: the one with the widest margin stays. */
static void twins_drop(struct find_blobs *blobs)
{
  int count = blobs->count;

  blobs->count = 0;
  for (int i = 0; i < count; i++) {
    struct find_blob blob = blobs->blob[i];
    struct twin_search search = {blobs, &blob, -1};
    int cell = cell_of(blobs, blob.x, blob.y);

    find_blobs_near(blobs, blob.x, blob.y, 0.25 * sqrt((double)blob.area), twin_visit, &search);
    if (search.twin < 0) {
      blobs->next[blobs->count] = blobs->first[cell];
      blobs->first[cell] = blobs->count;
      blobs->blob[blobs->count++] = blob;
    } else if (blob.margin > blobs->blob[search.twin].margin &&
               cell_of(blobs, blobs->blob[search.twin].x, blobs->blob[search.twin].y) == cell) {
      blobs->blob[search.twin] = blob;
    }
  }
}

bool find_blobs_make(const struct find_picture *picture, struct find_blobs *blobs, struct error *error)
{
  struct tree tree = {0};
  bool done = false;

  *blobs = (struct find_blobs){0};
  if (!tree_make(picture, blobs, &tree)) {
    error_no_memory(error, "the search for the card");
    goto out;
  }
  levels_fill(picture, &tree);
  nodes_sort(&tree);
  for (int i = 0; i < tree.taken; i++)
    node_take(&tree, tree.order[i]);
  regions_finish(&tree);
  done = !tree.failed && grid_make(picture, blobs);
  if (done)
    twins_drop(blobs);
  else
    error_no_memory(error, "the search for the card");
out:
  tree_clear(&tree);
  if (!done)
    find_blobs_clear(blobs);
  return done;
}

void find_blobs_clear(struct find_blobs *blobs)
{
  free(blobs->blob);
  free(blobs->first);
  free(blobs->next);
  *blobs = (struct find_blobs){0};
}
