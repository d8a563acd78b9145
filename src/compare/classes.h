/* SPDX-License-Identifier: MIT */
/* Classes that field books give to abundance, size and edges of features and to boundaries between layers, by both published
 * systems. */
#ifndef TAWNY_COMPARE_CLASSES_H
#define TAWNY_COMPARE_CLASSES_H

#include <stdbool.h>

enum class_system {
  CLASS_USDA, /* Field Book for Describing and Sampling Soils 3.0 (2012) */
  CLASS_FAO,  /* Guidelines for Soil Description, 4th edition (2006)      */
  CLASS_SYSTEMS
};

enum class_attribute {
  CLASS_ABUNDANCE, /* of mottles and other features, % of the surface                    */
  CLASS_SIZE,      /* of features, mm                                                    */
  CLASS_EDGE,      /* width over which a feature passes into what surrounds it, mm       */
  CLASS_BOUNDARY,  /* thickness of the passage from one layer to the next, cm            */
  CLASS_ATTRIBUTES
};

/* A row of the tables: lower and upper limit, each belonging to the class or not as tabulated. INFINITY: no upper limit. */
struct feature_class {
  enum class_system system;
  enum class_attribute attribute;
  const char *word; /* "very abrupt" */
  const char *code; /* "V", as the system abbreviates it */
  double lower;
  bool lower_in;
  double upper;
  bool upper_in;
};

/* "USDA", "FAO 2006". */
const char *class_system_word(enum class_system system);

/* The class that holds `value`; NULL where none does: not finite, negative, above 100 %. The classes of a system and attribute
 * neither overlap nor leave gaps. */
const struct feature_class *class_of(enum class_system system, enum class_attribute attribute, double value);

#endif
