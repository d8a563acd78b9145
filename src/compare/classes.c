/* SPDX-License-Identifier: MIT */
/* Schoeneberger, Wysocki & Benham 2012, Field Book for Describing and Sampling Soils 3.0 (USDA): abundance, size and edge of
 * features from memory; thickness of boundaries from texts that quote it (its "very abrupt" is not in the Soil Survey Manual of
 * 1993, where abrupt is all below 2 cm). FAO 2006, Guidelines for Soil Description, 4th edition: lists as published with the
 * GloSIS data base. calibration/README.md has both. */
#include "compare/classes.h"

#include <math.h>
#include <stddef.h>

enum { OUT = false, IN = true };

static const struct feature_class CLASS[] = {
    {CLASS_USDA, CLASS_ABUNDANCE, "few", "f", 0, IN, 2, OUT},
    {CLASS_USDA, CLASS_ABUNDANCE, "common", "c", 2, IN, 20, OUT},
    {CLASS_USDA, CLASS_ABUNDANCE, "many", "m", 20, IN, 100, IN},
    {CLASS_USDA, CLASS_SIZE, "fine", "1", 0, IN, 2, OUT},
    {CLASS_USDA, CLASS_SIZE, "medium", "2", 2, IN, 5, OUT},
    {CLASS_USDA, CLASS_SIZE, "coarse", "3", 5, IN, 20, OUT},
    {CLASS_USDA, CLASS_SIZE, "very coarse", "4", 20, IN, 76, OUT},
    {CLASS_USDA, CLASS_SIZE, "extremely coarse", "5", 76, IN, INFINITY, OUT},
    {CLASS_USDA, CLASS_EDGE, "sharp", "S", 0, IN, 0.1, OUT},
    {CLASS_USDA, CLASS_EDGE, "clear", "C", 0.1, IN, 2, OUT},
    {CLASS_USDA, CLASS_EDGE, "diffuse", "D", 2, IN, INFINITY, OUT},
    {CLASS_USDA, CLASS_BOUNDARY, "very abrupt", "V", 0, IN, 0.5, OUT},
    {CLASS_USDA, CLASS_BOUNDARY, "abrupt", "A", 0.5, IN, 2, OUT},
    {CLASS_USDA, CLASS_BOUNDARY, "clear", "C", 2, IN, 5, OUT},
    {CLASS_USDA, CLASS_BOUNDARY, "gradual", "G", 5, IN, 15, OUT},
    {CLASS_USDA, CLASS_BOUNDARY, "diffuse", "D", 15, IN, INFINITY, OUT},
    {CLASS_FAO, CLASS_ABUNDANCE, "none", "N", 0, IN, 0, IN},
    {CLASS_FAO, CLASS_ABUNDANCE, "very few", "V", 0, OUT, 2, IN},
    {CLASS_FAO, CLASS_ABUNDANCE, "few", "F", 2, OUT, 5, IN},
    {CLASS_FAO, CLASS_ABUNDANCE, "common", "C", 5, OUT, 15, IN},
    {CLASS_FAO, CLASS_ABUNDANCE, "many", "M", 15, OUT, 40, IN},
    {CLASS_FAO, CLASS_ABUNDANCE, "abundant", "A", 40, OUT, 100, IN},
    {CLASS_FAO, CLASS_SIZE, "very fine", "V", 0, IN, 2, OUT},
    {CLASS_FAO, CLASS_SIZE, "fine", "F", 2, IN, 6, IN},
    {CLASS_FAO, CLASS_SIZE, "medium", "M", 6, OUT, 20, IN},
    {CLASS_FAO, CLASS_SIZE, "coarse", "A", 20, OUT, INFINITY, OUT},
    {CLASS_FAO, CLASS_EDGE, "sharp", "S", 0, IN, 0.5, OUT},
    {CLASS_FAO, CLASS_EDGE, "clear", "C", 0.5, IN, 2, IN},
    {CLASS_FAO, CLASS_EDGE, "diffuse", "D", 2, OUT, INFINITY, OUT},
    {CLASS_FAO, CLASS_BOUNDARY, "abrupt", "A", 0, IN, 2, IN},
    {CLASS_FAO, CLASS_BOUNDARY, "clear", "C", 2, OUT, 5, IN},
    {CLASS_FAO, CLASS_BOUNDARY, "gradual", "G", 5, OUT, 15, IN},
    {CLASS_FAO, CLASS_BOUNDARY, "diffuse", "D", 15, OUT, INFINITY, OUT},
};

const char *class_system_word(enum class_system system)
{
  static const char *const word[CLASS_SYSTEMS] = {"USDA", "FAO 2006"};

  return word[system];
}

static bool holds(const struct feature_class *row, double value)
{
  bool above = row->lower_in ? value >= row->lower : value > row->lower;
  bool below = row->upper_in ? value <= row->upper : value < row->upper;

  return above && below;
}

const struct feature_class *class_of(enum class_system system, enum class_attribute attribute, double value)
{
  for (size_t i = 0; i < sizeof CLASS / sizeof *CLASS; i++) {
    if (CLASS[i].system == system && CLASS[i].attribute == attribute && holds(&CLASS[i], value)) {
      return &CLASS[i];
    }
  }
  return NULL;
}
