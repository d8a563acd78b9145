/* SPDX-License-Identifier: MIT */
/* The MacAdam limits (MacAdam 1935, J. Opt. Soc. Am. 25, 361-367): of all surfaces with a given Y, those are farthest from
 * grey that reflect everything in one band of wavelengths and nothing elsewhere, or the other way round. Such a band is known
 * by where it begins; with positions counted in the Y that lies below them (0 to 100, and round again, which makes the
 * inverse bands), a band that begins at p ends at p + Y. As p runs from 0 to 100, the colour of the band runs once round grey,
 * so the band of the same direction from grey as a colour is found by halving. */
#include <math.h>

#include "munsell/tables.h"

/* X and Z at a given Y. */
struct plane_point {
  double x, z;
};

/* X and Z of everything below a position 0..200. */
static struct plane_point sums_below(double position)
{
  double turns = position > 100 ? 1 : 0, y = position - 100 * turns;
  int low = 0, high = LIMIT_NODES - 1;

  while (high - low > 1) {
    int middle = (low + high) / 2;
    if (LIMIT_SUMS[middle][1] <= y) {
      low = middle;
    } else {
      high = middle;
    }
  }
  const double *a = LIMIT_SUMS[low], *b = LIMIT_SUMS[high], *all = LIMIT_SUMS[LIMIT_NODES - 1];
  double part = (y - a[1]) / (b[1] - a[1]);
  return (struct plane_point){a[0] + part * (b[0] - a[0]) + turns * all[0],
                              a[2] + part * (b[2] - a[2]) + turns * all[2]};
}

/* The colour of the band of luminance y that begins at a position, as seen from grey. */
static struct plane_point band_from_grey(double position, double y)
{
  struct plane_point end = sums_below(position + y), begin = sums_below(position);

  return (struct plane_point){end.x - begin.x - COLOUR_WHITE_C.X * y / 100,
                              end.z - begin.z - COLOUR_WHITE_C.Z * y / 100};
}

/* A number from 0 to 4 that rises with the direction of `to` as it turns from that of `from`. */
static double turned(struct plane_point from, struct plane_point to)
{
  double along = from.x * to.x + from.z * to.z, aside = from.x * to.z - from.z * to.x;
  double size = fabs(along) + fabs(aside);

  if (size == 0) {
    return 0;
  }
  return aside >= 0 ? 1 - along / size : 3 + along / size;
}

/* The band of luminance y in the direction of a colour. */
static struct plane_point band_towards(struct plane_point colour, double y)
{
  struct plane_point first = band_from_grey(0, y);
  double wanted = turned(first, colour), low = 0, high = 100;

  for (int i = 0; i < 28; i++) {
    double middle = (low + high) / 2;
    if (turned(first, band_from_grey(middle, y)) <= wanted) {
      low = middle;
    } else {
      high = middle;
    }
  }
  return band_from_grey(low, y);
}

bool munsell_is_real_surface(struct xyY c)
{
  const double rounding = 1e-6; /* of tristimulus values, white 100 */
  struct xyz colour = colour_xyz_from_xyY(c);
  struct plane_point from_grey = {colour.X - COLOUR_WHITE_C.X * c.Y / 100,
                                  colour.Z - COLOUR_WHITE_C.Z * c.Y / 100};

  if (!colour_xyz_is_finite(colour) || c.y <= 0 || c.Y < 0 || c.Y > 100) {
    return false;
  }
  struct plane_point edge = band_towards(from_grey, c.Y);
  return hypot(from_grey.x, from_grey.z) <= hypot(edge.x, edge.z) + rounding;
}
