/* SPDX-License-Identifier: MIT */
#include "profiles.h"

#include <stdlib.h>

/* From memory of the standards named in the header. */
static const cmsCIExyY WHITE_D65 = {0.3127, 0.3290, 1};
static const cmsCIExyYTRIPLE SRGB = {{0.64, 0.33, 1}, {0.30, 0.60, 1}, {0.15, 0.06, 1}};
static const cmsCIExyYTRIPLE ADOBE = {{0.64, 0.33, 1}, {0.21, 0.71, 1}, {0.15, 0.06, 1}};
static const cmsCIExyYTRIPLE P3 = {{0.680, 0.320, 1}, {0.265, 0.690, 1}, {0.150, 0.060, 1}};

static void need(bool there)
{
  if (!there) {
    abort();
  }
}

static cmsToneCurve *curve_of(enum profile_kind kind)
{
  const cmsFloat64Number srgb[5] = {2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045};

  switch (kind) {
  case PROFILE_ADOBE_RGB:
    return cmsBuildGamma(NULL, 2 + 51.0 / 256);
  case PROFILE_LINEAR:
    return cmsBuildGamma(NULL, 1);
  default:
    return cmsBuildParametricToneCurve(NULL, 4, srgb);
  }
}

static cmsToneCurve *as_table(cmsToneCurve *curve, unsigned entries)
{
  cmsUInt16Number *table = calloc(entries, sizeof *table);

  need(table != NULL);
  for (unsigned i = 0; i < entries; i++) {
    table[i] =
        (cmsUInt16Number)(65535 * (double)cmsEvalToneCurveFloat(curve, (float)i / (float)(entries - 1)) +
                          0.5);
  }
  cmsToneCurve *result = cmsBuildTabulatedToneCurve16(NULL, entries, table);
  cmsFreeToneCurve(curve);
  free(table);
  return result;
}

struct file_bytes profile_bytes(cmsHPROFILE profile)
{
  struct file_bytes bytes = {0};
  cmsUInt32Number size = 0;

  need(profile && cmsSaveProfileToMem(profile, NULL, &size));
  bytes.data = malloc(size);
  bytes.size = size;
  need(bytes.data && cmsSaveProfileToMem(profile, bytes.data, &size));
  cmsCloseProfile(profile);
  return bytes;
}

struct file_bytes profile_make(enum profile_kind kind, double version, unsigned table)
{
  const cmsCIExyYTRIPLE *primaries = kind == PROFILE_ADOBE_RGB    ? &ADOBE
                                     : kind == PROFILE_DISPLAY_P3 ? &P3
                                                                  : &SRGB;
  cmsToneCurve *curve = curve_of(kind);

  need(curve != NULL);
  if (table) {
    curve = as_table(curve, table);
  }
  cmsToneCurve *curves[3] = {curve, curve, curve};
  cmsHPROFILE profile = cmsCreateRGBProfile(&WHITE_D65, primaries, curves);
  need(profile != NULL);
  cmsSetProfileVersion(profile, version);
  cmsFreeToneCurve(curve);
  return profile_bytes(profile);
}

struct file_bytes profile_with_red_curve(cmsToneCurve *red)
{
  cmsToneCurve *usual = curve_of(PROFILE_SRGB), *curves[3] = {red, usual, usual};

  need(red && usual);
  cmsHPROFILE profile = cmsCreateRGBProfile(&WHITE_D65, &SRGB, curves);
  cmsFreeToneCurve(usual);
  cmsFreeToneCurve(red);
  return profile_bytes(profile);
}
