/* SPDX-License-Identifier: MIT */
#include "card/colours.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"
#include "colour/adapt.h"
#include "colour/spectrum.h"
#include "munsell/notation.h"
#include "munsell/renotation.h"

enum white { WHITE_UNNAMED, WHITE_D50, WHITE_C };

struct kind {
  const char *name;      /* for messages */
  const char *column[3]; /* all needed; fewer than three end with NULL */
  bool needs_white;
};

enum { KIND_LAB, KIND_XYZ, KIND_XYY, KIND_MUNSELL, KIND_SPECTRAL, KINDS };

static const struct kind KIND[KINDS] = {
    [KIND_LAB] = {"LAB_L LAB_A LAB_B", {"LAB_L", "LAB_A", "LAB_B"}, false},
    [KIND_XYZ] = {"XYZ_X XYZ_Y XYZ_Z", {"XYZ_X", "XYZ_Y", "XYZ_Z"}, true},
    [KIND_XYY] = {"XYY_X XYY_Y XYY_CAPY", {"XYY_X", "XYY_Y", "XYY_CAPY"}, true},
    [KIND_MUNSELL] = {"MUNSELL", {"MUNSELL"}, false},
    [KIND_SPECTRAL] = {"SPECTRAL_NM380 ...", {NULL}, false},
};

/* Spectral columns in the file's order. */
struct bands {
  size_t count;
  double first, step; /* nm */
  size_t column[CGATS_COLUMNS_MAX];
};

static bool wavelength(const struct cgats_word *name, double *nm)
{
  static const char prefix[] = "SPECTRAL_NM";
  size_t skip = sizeof prefix - 1;

  return name->length > skip && memcmp(name->start, prefix, skip) == 0 &&
         text_number_bytes(name->start + skip, name->length - skip, nm);
}

bool card_colours_column(const struct cgats_word *name)
{
  double nm;

  for (size_t k = 0; k < KINDS; k++) {
    for (size_t i = 0; i < 3 && KIND[k].column[i]; i++) {
      if (cgats_word_is(name, KIND[k].column[i])) {
        return true;
      }
    }
  }
  return wavelength(name, &nm);
}

static bool uneven_bands(struct error *error)
{
  return error_set(error, ERROR_FILE, "bad-card",
                   "spectral columns must rise in even steps of at most 20 nm and reach from 400 to 700 nm "
                   "or further; name them SPECTRAL_NM400 and so on");
}

static bool find_bands(const struct cgats *cgats, struct bands *bands, struct error *error)
{
  double nm, last = 0;

  bands->count = 0;
  bands->first = bands->step = 0;
  for (size_t i = 0; i < cgats->columns; i++) {
    if (!wavelength(&cgats->column[i], &nm)) {
      continue;
    }
    bands->column[bands->count++] = i;
    if (bands->count == 1) {
      bands->first = nm;
    } else if (bands->count == 2) {
      bands->step = nm - last;
    } else if (fabs(nm - last - bands->step) > 1e-6) {
      return uneven_bands(error);
    }
    last = nm;
  }
  if (bands->count > 0 && (bands->count < 2 || bands->step <= 0 || bands->step > 20 || bands->first > 400 ||
                           last < 700 || bands->first < 200 || last > 1100)) {
    return uneven_bands(error);
  }
  return true;
}

/* Cubic through the four values around the place (Lagrange, as CIE 167 allows for regular steps); the ends are held. */
static double interpolate(const double *value, size_t count, double place)
{
  if (place <= 0) {
    return value[0];
  }
  if (place >= (double)(count - 1)) {
    return value[count - 1];
  }
  double cell = fmin(fmax(floor(place), 1), (double)count - 3), t = place - cell;
  const double *v = value + (size_t)cell - 1;

  return -t * (t - 1) * (t - 2) / 6 * v[0] + (t + 1) * (t - 1) * (t - 2) / 2 * v[1] -
         (t + 1) * t * (t - 2) / 2 * v[2] + (t + 1) * t * (t - 1) / 6 * v[3];
}

static bool lab_of_spectrum(const struct cgats *cgats, size_t row, const struct bands *bands, struct lab *lab,
                            struct error *error)
{
  double value[CGATS_COLUMNS_MAX];
  struct spectrum reflectance, light = spectrum_of_illuminant(ILLUMINANT_D50);

  for (size_t i = 0; i < bands->count; i++) {
    if (!cgats_number(cgats, row, bands->column[i], &value[i], error)) {
      return false;
    }
    if (value[i] < 0 || value[i] > 1.2) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "line %d, row %zu: reflectance %g is not in 0..1.2; give factors, not percent",
                       cgats_cell(cgats, row, 0)->line, row + 1, value[i]);
    }
  }
  for (int band = 0; band < SPECTRUM_BANDS; band++) {
    reflectance.band[band] = interpolate(value, bands->count, (380 + 5 * band - bands->first) / bands->step);
  }
  *lab = colour_lab_from_xyz(spectrum_xyz(&reflectance, &light), COLOUR_WHITE_D50);
  return true;
}

static bool lab_of_notation(const struct cgats *cgats, size_t row, struct lab *lab, struct error *error)
{
  const struct cgats_word *cell = cgats_cell(cgats, row, (size_t)cgats_column(cgats, "MUNSELL"));
  char text[MUNSELL_NOTATION_SIZE], place[64];
  struct munsell munsell;

  snprintf(text, sizeof text, "%.*s", (int)(cell->length < sizeof text ? cell->length : sizeof text),
           cell->start);
  if (!munsell_parse(text, &munsell, error)) {
    char why[sizeof error->text];
    memcpy(why, error->text, sizeof why);
    error_set(error, ERROR_FILE, "bad-card", "%s", why);
    snprintf(place, sizeof place, "line %d, row %zu, column MUNSELL", cell->line, row + 1);
    return error_prefix(error, place);
  }
  struct xyz under_c = colour_xyz_from_xyY(munsell_to_xyY(munsell));
  *lab = colour_lab_from_xyz(colour_object_d50_from_c(under_c), COLOUR_WHITE_D50);
  return true;
}

static struct xyz xyz_of_values(int kind, const double v[3], struct xyz white)
{
  if (kind == KIND_LAB) {
    return colour_xyz_from_lab((struct lab){v[0], v[1], v[2]}, white);
  }
  if (kind == KIND_XYZ) {
    return (struct xyz){v[0], v[1], v[2]};
  }
  return colour_xyz_from_xyY((struct xyY){v[0], v[1], v[2]});
}

static bool lab_of_values(const struct cgats *cgats, size_t row, int kind, enum white white, struct lab *lab,
                          struct error *error)
{
  double v[3];

  for (size_t i = 0; i < 3; i++) {
    size_t column = (size_t)cgats_column(cgats, KIND[kind].column[i]);
    if (!cgats_number(cgats, row, column, &v[i], error)) {
      return false;
    }
  }
  if (kind == KIND_LAB && white != WHITE_C) {
    *lab = (struct lab){v[0], v[1], v[2]};
    return true;
  }
  struct xyz c = xyz_of_values(kind, v, white == WHITE_C ? COLOUR_WHITE_C : COLOUR_WHITE_D50);
  c = white == WHITE_C ? colour_object_d50_from_c(c) : c;
  *lab = colour_lab_from_xyz(c, COLOUR_WHITE_D50);
  return true;
}

/* Which kind of colour the file has; KINDS after an error. */
static int find_kind(const struct cgats *cgats, const struct bands *bands, struct error *error)
{
  int found = KINDS;

  for (int k = 0; k < KINDS; k++) {
    size_t wanted = 0, there = 0;
    for (; wanted < 3 && KIND[k].column[wanted]; wanted++) {
      there += cgats_column(cgats, KIND[k].column[wanted]) >= 0;
    }
    if (k == KIND_SPECTRAL ? bands->count == 0 : there == 0) {
      continue;
    }
    if (there < wanted) {
      error_set(error, ERROR_FILE, "bad-card", "the columns %s belong together; add what is missing",
                KIND[k].name);
      return KINDS;
    }
    if (found != KINDS) {
      error_set(error, ERROR_FILE, "bad-card", "colours come both as %s and as %s; leave one kind",
                KIND[found].name, KIND[k].name);
      return KINDS;
    }
    found = k;
  }
  if (found == KINDS) {
    error_set(error, ERROR_FILE, "bad-card",
              "no colour columns; give one of LAB_*, XYZ_*, XYY_*, SPECTRAL_NM* or MUNSELL");
  }
  return found;
}

static bool read_white(const struct cgats *cgats, enum white *white, struct error *error)
{
  struct cgats_word value;

  *white = WHITE_UNNAMED;
  for (size_t n = 0; cgats_keyword_value(cgats, "WEIGHTING_FUNCTION", n, &value); n++) {
    if (cgats_word_is(&value, "ILLUMINANT, D50")) {
      *white = WHITE_D50;
    } else if (cgats_word_is(&value, "ILLUMINANT, C")) {
      *white = WHITE_C;
    } else if (!cgats_word_is(&value, "OBSERVER, 2 degree")) {
      return error_set(error, ERROR_FILE, "bad-card",
                       "line %d: \"%.*s\" is not taken; colours may be for \"ILLUMINANT, D50\" or "
                       "\"ILLUMINANT, C\" and \"OBSERVER, 2 degree\"",
                       value.line, (int)value.length, value.start);
    }
  }
  return true;
}

/* What a surface can be, widely: catches wrong columns and wrong scales. */
static bool check_lab(const struct cgats *cgats, size_t row, struct lab lab, struct error *error)
{
  if (colour_lab_is_finite(lab) && lab.L >= 0 && lab.L <= 110 && hypot(lab.a, lab.b) <= 160) {
    return true;
  }
  return error_set(error, ERROR_FILE, "bad-card",
                   "line %d, row %zu: no surface has L* a* b* %.4g %.4g %.4g; check columns and scale",
                   cgats_cell(cgats, row, 0)->line, row + 1, lab.L, lab.a, lab.b);
}

/* Y of 0..1 in place of percent would make every patch nearly black. */
static bool check_scale(const struct cgats *cgats, const struct card_patch *patch, struct error *error)
{
  double lightest = 0;

  for (size_t row = 0; row < cgats->rows; row++) {
    lightest = fmax(lightest, patch[row].lab_d50.L);
  }
  return lightest > 12 ||
         error_set(error, ERROR_FILE, "bad-card",
                   "the lightest patch has L* %.2f; give L* as 0..100, Y in percent", lightest);
}

bool card_colours_read(const struct cgats *cgats, struct card_patch *patch, struct error *error)
{
  struct bands bands;
  enum white white;

  if (!find_bands(cgats, &bands, error) || !read_white(cgats, &white, error)) {
    return false;
  }
  int kind = find_kind(cgats, &bands, error);
  if (kind == KINDS) {
    return false;
  }
  if (KIND[kind].needs_white && white == WHITE_UNNAMED) {
    return error_set(
        error, ERROR_FILE, "bad-card",
        "the white of %s is not named; add WEIGHTING_FUNCTION \"ILLUMINANT, D50\" or \"ILLUMINANT, C\"",
        KIND[kind].name);
  }
  for (size_t row = 0; row < cgats->rows; row++) {
    struct lab *lab = &patch[row].lab_d50;
    bool read = kind == KIND_SPECTRAL  ? lab_of_spectrum(cgats, row, &bands, lab, error)
                : kind == KIND_MUNSELL ? lab_of_notation(cgats, row, lab, error)
                                       : lab_of_values(cgats, row, kind, white, lab, error);
    if (!read || !check_lab(cgats, row, *lab, error)) {
      return false;
    }
  }
  return check_scale(cgats, patch, error);
}
