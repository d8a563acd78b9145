/* SPDX-License-Identifier: MIT */
#include "light/light.h"

#include <math.h>
#include <string.h>

#include "light/field.h"

/* Distance beyond the edge, pixels; negative on the card's side. */
static double beyond(const struct light_edge *edge, struct point place)
{
  return (place.x - edge->place.x) * edge->normal.x + (place.y - edge->place.y) * edge->normal.y;
}

double light_share_of_step(const struct light *light, struct point place)
{
  if (!light->shadow_edge) {
    return 0;
  }
  double t = 0.5 + 0.5 * beyond(&light->edge, place) / fmax(light->edge.half, 1e-9);
  t = fmin(fmax(t, 0), 1);
  return t * t * (3 - 2 * t);
}

enum light_side light_side_at(const struct light *light, struct point place)
{
  if (!light->shadow_edge) {
    return LIGHT_AS_CARD;
  }
  double far = beyond(&light->edge, place);

  return far < -light->edge.half ? LIGHT_AS_CARD : far > light->edge.half ? LIGHT_BEYOND : LIGHT_ON_EDGE;
}

bool light_is_unsure(const struct light *light, struct point place)
{
  return light->shadow_unsure && beyond(&light->unsure, place) > 0;
}

void light_jacobian(const struct light *light, struct point place, double jacobian[3][LIGHT_TERMS])
{
  double basis[LIGHT_COMMON], share = light_share_of_step(light, place);

  field_basis(light, place, basis);
  memset(jacobian, 0, 3 * sizeof *jacobian);
  for (int k = 0; k < 3; k++) {
    memcpy(jacobian[k], basis, sizeof basis);
    jacobian[k][LIGHT_STEP_AT + k] = share;
  }
  memcpy(jacobian[0] + LIGHT_RED_AT, basis, LIGHT_TINT * sizeof *basis);
  memcpy(jacobian[2] + LIGHT_BLUE_AT, basis, LIGHT_TINT * sizeof *basis);
}

struct vec3 light_gain(const struct light *light, struct point place)
{
  double jacobian[3][LIGHT_TERMS];
  struct vec3 gain;

  light_jacobian(light, place, jacobian);
  for (int k = 0; k < 3; k++) {
    double sum = 0;
    for (int j = 0; j < LIGHT_TERMS; j++) {
      sum += jacobian[k][j] * light->term[j];
    }
    gain.v[k] = exp(sum);
  }
  return gain;
}
