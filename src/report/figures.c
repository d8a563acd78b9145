/* SPDX-License-Identifier: MIT */
#include "report/figures.h"

#include <string.h>

#include "report/plain.h"

double figures_light_gain(const struct measurement *measurement, const struct reading *reading)
{
  const double *weight = measurement->encoding.xyz_from_linear.m[1];
  const double *gain = reading->statistics.gain.v;

  return (weight[0] * gain[0] + weight[1] * gain[1] + weight[2] * gain[2]) /
         (weight[0] + weight[1] + weight[2]);
}

bool figures_hue_known(const struct reading *reading)
{
  return !reading->neutral && reading->spread95.hue > 0;
}

static bool called_the_same(const struct region *a, const struct region *b)
{
  return strcmp(a->context, b->context) == 0 && strcmp(a->find, b->find) == 0 &&
         strcmp(a->zone, b->zone) == 0;
}

static bool called_alone(const struct measurement *measurement, const struct region *region)
{
  size_t count = 0;

  for (size_t i = 0; i < measurement->readings; i++) {
    count += called_the_same(measurement->reading[i].region, region);
  }
  return count == 1;
}

void figures_subject(const struct measurement *measurement, size_t reading, struct text *out)
{
  const struct region *region = measurement->reading[reading].region;
  const char *blank = region->context[0] ? " " : "";

  if (!region->context[0] && !region->find[0]) {
    plain_add(out, region->label);
    return;
  }
  plain_add(out, region->context);
  if (region->find[0]) {
    text_format(out, "%sfind ", blank);
    plain_add(out, region->find);
  }
  if (region->zone[0]) {
    text_add(out, " ");
    plain_add(out, region->zone);
  }
  if (!called_alone(measurement, region)) {
    text_add(out, " (");
    plain_add(out, region->label);
    text_add(out, ")");
  }
}

void figures_count(struct text *out, size_t count, const char *singular, const char *plural)
{
  text_format(out, "%zu %s", count, count == 1 ? singular : plural);
}
