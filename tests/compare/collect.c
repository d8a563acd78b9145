/* SPDX-License-Identifier: MIT */
#include "collect.h"

#include <check.h>
#include <stdio.h>

#include "colour/adapt.h"
#include "compare/deposits.h"
#include "munsell/notation.h"

void collect_photo(struct collection *c)
{
  struct error error;
  struct collected_photo *photo = collection_begin_photo(c, &error);

  ck_assert_ptr_nonnull(photo);
  snprintf(photo->file, sizeof photo->file, "%zu.jpg", c->photos);
}

struct collected *collect_lab(struct collection *c, const char *context, enum region_moisture moisture,
                              struct lab lab, double variance)
{
  struct error error;
  struct collected *item = collection_add(c, &error);
  struct reading *reading = &item->reading;

  ck_assert_ptr_nonnull(item);
  snprintf(item->region.label, sizeof item->region.label, "r%zu", c->count);
  snprintf(item->region.context, sizeof item->region.context, "%s", context);
  item->region.moisture = moisture;
  reading->measured = true;
  reading->lab_d50 = lab;
  reading->munsell = deposits_munsell(lab, &reading->lab_c);
  reading->chip = munsell_nearest_soil_chip(reading->lab_c, NULL);
  reading->own = reading->covariance = mat3_scale(mat3_identity(), variance);
  return item;
}

struct collected *collect_notation(struct collection *c, const char *context, enum region_moisture moisture,
                                   const char *notation, double variance)
{
  struct munsell m;
  struct error error;

  ck_assert_msg(munsell_parse(notation, &m, &error), "%s", error.text);
  struct xyz xyz = colour_object_d50_from_c(colour_xyz_from_xyY(munsell_to_xyY(m)));
  return collect_lab(c, context, moisture, colour_lab_from_xyz(xyz, COLOUR_WHITE_D50), variance);
}
