/* SPDX-License-Identifier: MIT */
#include "colour/spectrum.h"

#include <math.h>

#include "colour/cie_tables.h"

struct spectrum spectrum_of_illuminant(enum spectrum_illuminant illuminant)
{
  struct spectrum light;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    light.band[i] = CIE_ILLUMINANTS[i][illuminant];
  }
  return light;
}

/* Chromaticity of the daylight locus, CIE 15:2018 equations 4.7 and 4.8. */
static double daylight_x(double kelvin)
{
  double k = 1e3 / kelvin;

  if (kelvin <= 7000) {
    return 0.244063 + k * (0.09911 + k * (2.9678 - k * 4.6070));
  }
  return 0.237040 + k * (0.24748 + k * (1.9018 - k * 2.0064));
}

/* S = S0 + M1 S1 + M2 S2, CIE 15:2018 equation 4.9. The factors are not rounded, so that the light changes smoothly with its
 * temperature. */
struct spectrum spectrum_of_daylight(double kelvin)
{
  double x = daylight_x(fmin(fmax(kelvin, 4000), 25000));
  double y = -3.000 * x * x + 2.870 * x - 0.275;
  double m = 0.0241 + 0.2562 * x - 0.7341 * y;
  double m1 = (-1.3515 - 1.7703 * x + 5.9114 * y) / m;
  double m2 = (0.0300 - 31.4424 * x + 30.0717 * y) / m;
  const double *at_560 = CIE_DAYLIGHT[(560 - 380) / 5];
  double scale = 100 / (at_560[0] + m1 * at_560[1] + m2 * at_560[2]);
  struct spectrum light;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    light.band[i] = scale * (CIE_DAYLIGHT[i][0] + m1 * CIE_DAYLIGHT[i][1] + m2 * CIE_DAYLIGHT[i][2]);
  }
  return light;
}

struct xyz spectrum_xyz(const struct spectrum *reflectance, const struct spectrum *light)
{
  struct vec3 sum = {{0, 0, 0}};
  double white = 0;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    for (int k = 0; k < 3; k++) {
      sum.v[k] += CIE_OBSERVER[i][k] * light->band[i] * reflectance->band[i];
    }
    white += CIE_OBSERVER[i][1] * light->band[i];
  }
  return colour_xyz_from_vec(vec3_scale(sum, 100 / white));
}
