/* SPDX-License-Identifier: MIT */
/* What light may do along a line. */
#include <math.h>

#include "compare/edge_parts.h"

/* What a deposit may grade by itself from the line's middle to its end (straight, bowed), in units of colour difference. Our estimate. */
static const double DRIFT_OWN[2] = {0.5, 0.3};

/* Where a shadow's edge crosses the line and over which part the light is not known. */
void edge_shadow_find(const struct measurement *m, struct edge *edge)
{
  const struct light_edge *shadow = &m->light.edge;
  const struct edge_line *line = &edge->line;
  double c = (line->to.x - line->from.x) / edge->length, s = (line->to.y - line->from.y) / edge->length;
  double rise = c * shadow->normal.x + s * shadow->normal.y; /* of the distance to the shadow's edge */
  double start = (line->from.x - shadow->place.x) * shadow->normal.x +
                 (line->from.y - shadow->place.y) * shadow->normal.y;

  if (!m->light.shadow_edge || fabs(rise) < 1e-3) {
    return;
  }
  double at = -start / rise, reach = shadow->half / fabs(rise);
  if (at + reach > 0 && at - reach < edge->length) {
    edge->shadow = true;
    edge->shadow_from = fmax(at - reach, 0);
    edge->shadow_to = fmin(at + reach, edge->length);
    edge->prior.shadow = at > 0 && at < edge->length;
    edge->prior.shadow_at = at;
  }
}

/* Standard deviations in the fit's channels of a sum of the light's terms: weight[row][term] per log gain of R G B. */
static void spread_of_light(const struct measurement *m, const struct edge *edge,
                            double weight[3][LIGHT_TERMS], double own, double size[3])
{
  struct mat3 covariance = {{{0}}};

  for (int i = 0; i < 9; i++) {
    for (int t = 0; t < LIGHT_TERMS * LIGHT_TERMS; t++) {
      covariance.m[i / 3][i % 3] += weight[i / 3][t / LIGHT_TERMS] * weight[i % 3][t % LIGHT_TERMS] *
                                    m->light.covariance[t / LIGHT_TERMS][t % LIGHT_TERMS];
    }
  }
  covariance = mat3_congruence(mat3_multiply(edge->channels, mat3_diagonal(edge->about)), covariance);
  for (int k = 0; k < 3; k++) {
    size[k] = sqrt(fmax(covariance.m[k][k], 0) + own * own);
  }
}

/* What the light field's own covariance lets stand along the line: slope, bow, and step at the edge of a shadow. */
void edge_prior_make(const struct measurement *m, struct edge *edge)
{
  double place[3][3][LIGHT_TERMS], slope[3][LIGHT_TERMS], bow[3][LIGHT_TERMS], step[3][LIGHT_TERMS] = {{0}};

  for (int i = 0; i < 3; i++) {
    light_jacobian(&m->light, edge_line_at(&edge->line, edge->length * i / 2, 0), place[i]);
  }
  for (int row = 0; row < 3; row++) {
    for (int t = 0; t < LIGHT_TERMS; t++) {
      bool field = t < LIGHT_STEP_AT; /* smooth, unlike the step at a shadow's edge */
      slope[row][t] = field ? (place[2][row][t] - place[0][row][t]) / 2 : 0;
      bow[row][t] = field ? (place[2][row][t] + place[0][row][t]) / 2 - place[1][row][t] : 0;
    }
    step[row][LIGHT_STEP_AT + row] = 1;
  }
  spread_of_light(m, edge, slope, DRIFT_OWN[0], edge->prior.drift[0]);
  spread_of_light(m, edge, bow, DRIFT_OWN[1], edge->prior.drift[1]);
  spread_of_light(m, edge, step, DRIFT_OWN[0], edge->prior.shadow_step);
}
