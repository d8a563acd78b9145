/* SPDX-License-Identifier: MIT */
#include "light/field.h"

const double FIELD_PRIOR[LIGHT_STEP_AT] = {0.25, 0.25, 0.2, 0.05, 0.05, 0.06, 0.06, 0.03, 0.06, 0.06, 0.03};

void field_basis(const struct light *light, struct point place, double basis[LIGHT_COMMON])
{
  double scale = light->scale > 0 ? light->scale : 1;
  double x = (place.x - light->middle.x) / scale, y = (place.y - light->middle.y) / scale;
  double cx = (light->centre.x - light->middle.x) / scale, cy = (light->centre.y - light->middle.y) / scale;

  basis[0] = x - cx;
  basis[1] = y - cy;
  basis[2] = x * x + y * y - cx * cx - cy * cy;
  basis[3] = x * x - y * y - cx * cx + cy * cy;
  basis[4] = 2 * (x * y - cx * cy);
}
