/* SPDX-License-Identifier: MIT */
#include "score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool score_add(struct score_list *list, struct score_case item)
{
  if (list->count == list->capacity) {
    size_t capacity = list->capacity ? 2 * list->capacity : 256;
    struct score_case *larger = realloc(list->item, capacity * sizeof *larger);
    if (!larger) {
      return false;
    }
    list->item = larger;
    list->capacity = capacity;
  }
  list->item[list->count++] = item;
  return true;
}

void score_clear(struct score_list *list)
{
  free(list->item);
  *list = (struct score_list){0};
}

static int by_error(const void *a, const void *b)
{
  double x = ((const struct score_case *)a)->error, y = ((const struct score_case *)b)->error;

  return (x > y) - (x < y);
}

static int by_radius(const void *a, const void *b)
{
  double x = ((const struct score_case *)a)->radius, y = ((const struct score_case *)b)->radius;

  return (x > y) - (x < y);
}

/* A sorted copy; the caller frees it. */
static struct score_case *sorted(const struct score_list *list, int (*order)(const void *, const void *))
{
  struct score_case *copy = malloc((list->count ? list->count : 1) * sizeof *copy);

  if (copy && list->count > 0) { /* an empty list has no items to point at */
    memcpy(copy, list->item, list->count * sizeof *copy);
    qsort(copy, list->count, sizeof *copy, order);
  }
  return copy;
}

double score_error_quantile(const struct score_list *list, double share)
{
  struct score_case *copy = sorted(list, by_error);
  double value = (double)NAN;

  if (copy && list->count > 0) {
    double place = share * (double)(list->count - 1);
    size_t low = (size_t)place, high = low + 1 < list->count ? low + 1 : low;
    value = copy[low].error + (place - (double)low) * (copy[high].error - copy[low].error);
  }
  free(copy);
  return value;
}

double score_coverage(const struct score_list *list, int third)
{
  struct score_case *copy = sorted(list, by_radius);
  size_t from = third < 0 ? 0 : (size_t)third * list->count / 3;
  size_t to = third < 0 ? list->count : (size_t)(third + 1) * list->count / 3, inside = 0;

  for (size_t i = from; copy && i < to; i++) {
    inside += copy[i].error <= copy[i].radius;
  }
  free(copy);
  return to > from ? (double)inside / (double)(to - from) : (double)NAN;
}

static double interval(double radius, double error)
{
  return radius + 20 * fmax(0, error - radius);
}

double score_interval(const struct score_list *list)
{
  double sum = 0;

  for (size_t i = 0; i < list->count; i++) {
    sum += interval(list->item[i].radius, list->item[i].error);
  }
  return sum / (double)list->count;
}

/* The best constant is the 95 % quantile of the errors. */
double score_interval_constant(const struct score_list *list)
{
  double radius = score_error_quantile(list, 0.95), sum = 0;

  for (size_t i = 0; i < list->count; i++) {
    sum += interval(radius, list->item[i].error);
  }
  return sum / (double)list->count;
}

size_t score_chance_bin(const struct score_list *list, int bin, double *stated, double *right)
{
  size_t count = 0;

  *stated = *right = 0;
  for (size_t i = 0; i < list->count; i++) {
    int at = (int)fmin(list->item[i].chance * 5, 4);
    if (at == bin) {
      *stated += list->item[i].chance;
      *right += list->item[i].chip_right;
      count++;
    }
  }
  *stated /= count ? (double)count : 1;
  *right /= count ? (double)count : 1;
  return count;
}
