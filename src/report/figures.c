/* SPDX-License-Identifier: MIT */
#include "report/figures.h"

#include <string.h>

#include "report/plain.h"

double figures_luminance_gain(const struct measurement *measurement, struct vec3 gain)
{
  const double *weight = measurement->encoding.xyz_from_linear.m[1];

  return (weight[0] * gain.v[0] + weight[1] * gain.v[1] + weight[2] * gain.v[2]) /
         (weight[0] + weight[1] + weight[2]);
}

double figures_light_gain(const struct measurement *measurement, const struct reading *reading)
{
  return figures_luminance_gain(measurement, reading->statistics.gain);
}

bool figures_hue_known(const struct reading *reading)
{
  return !reading->neutral && reading->spread95.hue > 0;
}

static bool has_name(const struct region *region)
{
  return region->context[0] || region->find[0];
}

bool figures_named_alike(const struct region *a, const struct region *b)
{
  if (!has_name(a) || !has_name(b)) {
    return a == b;
  }
  return strcmp(a->context, b->context) == 0 && strcmp(a->find, b->find) == 0 &&
         strcmp(a->zone, b->zone) == 0;
}

bool figures_name_is_shared(const struct measurement *measurement, const struct region *region)
{
  size_t count = 0;

  for (size_t i = 0; i < measurement->readings; i++) {
    count += figures_named_alike(measurement->reading[i].region, region);
  }
  return count > 1;
}

void figures_name(const struct region *region, bool with_label, struct text *out)
{
  if (!has_name(region)) {
    plain_add(out, region->label);
    return;
  }
  plain_add(out, region->context);
  if (region->find[0]) {
    text_add(out, region->context[0] ? " find " : "find ");
    plain_add(out, region->find);
  }
  if (region->zone[0]) {
    text_add(out, " ");
    plain_add(out, region->zone);
  }
  if (with_label) {
    text_add(out, " (");
    plain_add(out, region->label);
    text_add(out, ")");
  }
}

void figures_percent(struct text *out, double share)
{
  if (share <= 0.005) { /* half to even would make it 0 */
    text_add(out, "<1 %");
  } else if (share >= 0.995) {
    text_add(out, ">99 %");
  } else {
    text_format(out, "%.0f %%", 100 * share);
  }
}

void figures_count(struct text *out, size_t count, const char *singular, const char *plural)
{
  text_format(out, "%zu %s", count, count == 1 ? singular : plural);
}
