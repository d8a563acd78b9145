/* SPDX-License-Identifier: MIT */
/* Little-CMS reads the profile; curves and matrix are ours from then on. */
#include "image/encoding.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include <lcms2.h>

/* A curve may fall by this much on its way before it is called broken (noise in tables), and rises at least by STEP_MIN a
 * step after the repair, so that it can be inverted. */
static const double FALL_MAX = 1e-3, STEP_MIN = 1e-9;

static const cmsTagSignature curve_tags[3] = {cmsSigRedTRCTag, cmsSigGreenTRCTag, cmsSigBlueTRCTag};
static const cmsTagSignature colorant_tags[3] = {cmsSigRedColorantTag, cmsSigGreenColorantTag,
                                                 cmsSigBlueColorantTag};

/* Of an intact profile, why its curves and primaries can't be had; NULL if they can. */
static const char *other_kind(cmsHPROFILE profile)
{
  cmsColorSpaceSignature space = cmsGetColorSpace(profile);

  if (space == cmsSigGrayData) {
    return "for grey";
  }
  if (space == cmsSigCmykData) {
    return "for CMYK";
  }
  if (space != cmsSigRgbData) {
    return "not for RGB";
  }
  return !cmsIsMatrixShaper(profile) && cmsIsTag(profile, cmsSigAToB0Tag) ? "a lookup table" : NULL;
}

/* Samples a tone curve and scales it to end at 1; *end is where it ended. */
static bool take_curve(const cmsToneCurve *tone, double curve[ENCODING_STEPS + 1], double *end)
{
  for (int i = 0; i <= ENCODING_STEPS; i++) {
    double value = (double)cmsEvalToneCurveFloat(tone, (float)i / ENCODING_STEPS);
    if (!isfinite(value) || fabs(value) > 2 || (i > 0 && value < curve[i - 1] - FALL_MAX)) {
      return false;
    }
    curve[i] = i > 0 ? fmax(value, curve[i - 1] + STEP_MIN) : fmax(value, 0);
  }
  *end = curve[ENCODING_STEPS];
  if (*end - curve[0] < 0.5) {
    return false;
  }
  for (int i = 0; i <= ENCODING_STEPS; i++) {
    curve[i] /= *end;
  }
  return true;
}

static bool take_channel(cmsHPROFILE profile, int channel, struct encoding *encoding)
{
  const cmsToneCurve *tone = cmsReadTag(profile, curve_tags[channel]);
  const cmsCIEXYZ *colorant = cmsReadTag(profile, colorant_tags[channel]);
  double end;

  if (!tone || !colorant || !take_curve(tone, encoding->curve[channel], &end)) {
    return false;
  }
  encoding->xyz_from_linear.m[0][channel] = colorant->X * end;
  encoding->xyz_from_linear.m[1][channel] = colorant->Y * end;
  encoding->xyz_from_linear.m[2][channel] = colorant->Z * end;
  return true;
}

/* ICC.1, matrix/TRC model: linear = curve(code), XYZ = columns of colorants times linear, under D50. */
static bool take_model(cmsHPROFILE profile, struct encoding *encoding)
{
  struct mat3 inverse;

  if (!profile || !take_channel(profile, 0, encoding) || !take_channel(profile, 1, encoding) ||
      !take_channel(profile, 2, encoding)) {
    return false;
  }
  double white = mat3_apply(encoding->xyz_from_linear, (struct vec3){{1, 1, 1}}).v[1];
  if (!(white > 0.1) || !mat3_invert(encoding->xyz_from_linear, &inverse)) {
    return false;
  }
  encoding->xyz_from_linear = mat3_scale(encoding->xyz_from_linear, 100 / white);
  return true;
}

static void take_name(cmsHPROFILE profile, char *name, size_t room)
{
  if (!cmsGetProfileInfoASCII(profile, cmsInfoDescription, "en", "US", name, (cmsUInt32Number)room) ||
      !*name) {
    snprintf(name, room, "profile without a name");
  }
  name[room - 1] = '\0';
  for (char *c = name; *c; c++) {
    if (*c < 0x20 || *c > 0x7e) { /* bytes beyond ASCII too, whether char has a sign or not */
      *c = '?';
    }
  }
}

static bool take_srgb(const char *name, struct encoding *encoding, struct error *error)
{
  cmsHPROFILE profile = cmsCreate_sRGBProfile();
  bool done = take_model(profile, encoding);

  snprintf(encoding->name, sizeof encoding->name, "%s", name);
  if (profile) {
    cmsCloseProfile(profile);
  }
  return done || error_no_memory(error, "the sRGB profile");
}

static bool take_embedded(cmsHPROFILE profile, const char *name, struct encoding *encoding,
                          struct error *error)
{
  const char *kind = other_kind(profile);
  char note[sizeof encoding->name];

  if (kind) {
    snprintf(note, sizeof note, "sRGB (embedded profile not usable: %s)", kind);
    encoding->not_used = kind;
    return take_srgb(note, encoding, error);
  }
  encoding->embedded = take_model(profile, encoding);
  take_name(profile, encoding->name, sizeof encoding->name);
  return encoding->embedded ||
         error_set(
             error, ERROR_FILE, "bad-profile",
             "%s holds a colour profile without usable curves or primaries; save it again with a plain sRGB "
             "profile",
             name);
}

bool encoding_of_image(const struct image *image, const char *name, struct encoding *encoding,
                       struct error *error)
{
  *encoding = (struct encoding){0};
  if (!image->icc) {
    return take_srgb("sRGB", encoding, error);
  }
  cmsHPROFILE profile = cmsOpenProfileFromMem(image->icc, (cmsUInt32Number)image->icc_size);
  if (!profile) {
    return error_set(error, ERROR_FILE, "bad-profile",
                     "%s holds a colour profile that is damaged; save it again with a plain sRGB profile",
                     name);
  }
  bool done = take_embedded(profile, name, encoding, error);
  cmsCloseProfile(profile);
  return done;
}

double encoding_linear(const struct encoding *encoding, int channel, double code)
{
  const double *curve = encoding->curve[channel];
  double place = fmin(fmax(code, 0), 1) * ENCODING_STEPS;
  int step = (int)fmin(place, ENCODING_STEPS - 1);

  return curve[step] + (place - step) * (curve[step + 1] - curve[step]);
}

double encoding_code(const struct encoding *encoding, int channel, double linear)
{
  const double *curve = encoding->curve[channel];
  int low = 0, high = ENCODING_STEPS;

  if (!(linear > curve[0])) {
    return 0;
  }
  if (linear >= curve[ENCODING_STEPS]) {
    return 1;
  }
  while (high - low > 1) { /* curve[low] <= linear < curve[high] */
    int middle = (low + high) / 2;
    if (curve[middle] <= linear) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return (low + (linear - curve[low]) / (curve[high] - curve[low])) / ENCODING_STEPS;
}
