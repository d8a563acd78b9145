/* SPDX-License-Identifier: MIT */
#include "compare/indices.h"

#include <math.h>
#include <string.h>

#include "base/quantile.h"

/* Hues: 10R 10, 10YR 20, 2.5Y 22.5, 5Y 25. Measured ones may miss a limit by rounding. */
static const double HUE_5R = 5, HUE_10R = 10, HUE_10YR = 20, HUE_2_5Y = 22.5, HUE_5Y = 25, ROUNDING = 1e-6;

static const struct {
  const char *name, *formula, *source;
} INDEX[INDICES] = {
    [INDEX_REDNESS_RATING] = {"redness rating", "RR = (10 - H) C / V, H 0 at 10R to 10 at 10YR",
                              "Torrent et al. 1983, Soil Sci. 136, 354 (formula from memory)"},
    [INDEX_REDNESS_LAB] = {"redness index of L*a*b*",
                           "a* (a*^2 + b*^2)^(1/2) 10^10 / (b* L*^6), CIELAB under C",
                           "Barron & Torrent 1986, J. Soil Sci. 37, 499 (illuminant from memory)"},
    [INDEX_REDNESS_HURST] = {"Hurst redness", "H* V / C, H* 5 at 5R, 10 at 10R, 20 at 10YR; lower is redder",
                             "Hurst 1977, GSA Bull. 88, 174"},
    [INDEX_DEVELOPMENT] = {"colour development equivalent",
                           "n C, n 7 at 10R, 6 at 2.5YR, 3 at 10YR, 1 at 5Y, 0 for N",
                           "Buntley & Westin 1965, Soil Sci. Soc. Am. J. 29, 579"},
    [INDEX_RUBIFICATION] = {"rubification", "10 (hue pages redder + chroma gain) against the parent material",
                            "Harden 1982, Geoderma 28, 1"},
    [INDEX_MELANIZATION] = {"melanization", "10 (V of the parent material - V)",
                            "Harden 1982, Geoderma 28, 1"},
    [INDEX_MOLLIC] = {"mollic colour", "moist V <= 3 and C <= 3, dry V <= 5",
                      "WRB 2022; Keys to Soil Taxonomy"},
    [INDEX_CHERNIC] = {"chernic colour", "moist V <= 3 and C <= 2, dry V <= 5", "WRB 2022 (from memory)"},
    [INDEX_CLARIC] = {"claric colour",
                      "dry: V >= 7 and C <= 3, or V >= 5 and C <= 2; moist: V >= 6 and C <= 4, or V >= 5 and "
                      "C <= 3, or V >= 4 and C <= 2",
                      "WRB 2022, 3.3.4"},
    [INDEX_GLEY] =
        {"gley colour",
         "moist: hue N, 10Y, 5GY, 10GY, 5G, 10G, 5BG, 10BG, 5B, 10B or 5PB, V >= 4, C <= 1 (5G: 2)",
         "Field Indicators of Hydric Soils (limits of chroma from memory)"},
    [INDEX_DEPLETED] = {"depleted colour",
                        "moist: V >= 4 and C <= 2; 4/1, 4/2 and 5/2 also need redox concentrations",
                        "Field Indicators of Hydric Soils"},
};

const char *index_name(enum soil_index index)
{
  return INDEX[index].name;
}

const char *index_formula(enum soil_index index)
{
  return INDEX[index].formula;
}

const char *index_source(enum soil_index index)
{
  return INDEX[index].source;
}

static bool hue_within(struct munsell m, double from, double to)
{
  return !munsell_is_neutral(m) && m.hue >= from - ROUNDING && m.hue <= to + ROUNDING;
}

/* Those that one colour gives. False where the index is not defined for it. */
static bool number_of(enum soil_index index, struct lab lab_d50, double *value)
{
  struct lab c;
  struct munsell m = deposits_munsell(lab_d50, &c);

  switch (index) {
  case INDEX_REDNESS_RATING:
    *value = (HUE_10YR - m.hue) * m.chroma / m.value;
    return hue_within(m, HUE_10R, HUE_10YR) && m.value > 0;
  case INDEX_REDNESS_LAB:
    *value = c.a * hypot(c.a, c.b) * 1e10 / (c.b * pow(c.L, 6));
    return c.b > 0 && c.L > 0;
  case INDEX_REDNESS_HURST:
    *value = m.hue * m.value / m.chroma;
    return hue_within(m, HUE_5R, HUE_2_5Y);
  case INDEX_DEVELOPMENT:
    *value = munsell_is_neutral(m) ? 0 : (7 - (m.hue - HUE_10R) / 2.5) * m.chroma;
    return munsell_is_neutral(m) || hue_within(m, HUE_10R, HUE_5Y);
  default:
    return false;
  }
}

/* By central differences in Lab; where the index ends at a limit of hue, by the colour's own side of it. */
static struct index_value number_with_spread(const struct deposit *deposit, enum soil_index index)
{
  const double h = 0.05;
  struct index_value result = {0};
  struct vec3 slope;

  result.given = number_of(index, deposit->mean, &result.value);
  for (int k = 0; result.given && k < 3; k++) {
    struct vec3 up = colour_vec_from_lab(deposit->mean), down = up;
    double high = result.value, low = result.value;
    up.v[k] += h;
    down.v[k] -= h;
    bool has_high = number_of(index, colour_lab_from_vec(up), &high);
    bool has_low = number_of(index, colour_lab_from_vec(down), &low);
    high = has_high ? high : result.value;
    low = has_low ? low : result.value;
    slope.v[k] = (high - low) / (h * fmax(has_high + has_low, 1));
  }
  if (result.given) {
    result.spread = QUANTILE_NORMAL_95 * sqrt(vec3_dot(slope, mat3_apply(deposit->covariance, slope)));
  }
  return result;
}

/* The one parent material in this state; -1: none, several, or the deposit itself. */
static long parent_of(const struct collection *c, const struct deposits *d, size_t deposit)
{
  long found = -1;

  for (size_t i = 0; i < d->count; i++) {
    const struct region *region = &c->item[d->list[i].item].region;
    if (strcmp(region->role, INDEX_PARENT_ROLE) == 0 && d->list[i].moisture == d->list[deposit].moisture) {
      if (found >= 0) {
        return -1;
      }
      found = (long)i;
    }
  }
  return found == (long)deposit ? -1 : found;
}

static struct vec3 row_of(const struct mat3 *m, int row)
{
  return (struct vec3){{m->m[row][0], m->m[row][1], m->m[row][2]}};
}

/* Harden's: sums of differences in hue, value and chroma, `weight` times sample minus parent. */
static struct index_value against_parent(const struct collection *c, const struct deposits *d, size_t deposit,
                                         struct vec3 weight)
{
  long parent = parent_of(c, d, deposit);
  struct index_value result = {.given = false};
  struct error error;
  double variance;

  if (parent < 0) {
    return result;
  }
  const struct deposit *one = &d->list[deposit], *other = &d->list[parent];
  if (weight.v[0] != 0 && (one->neutral || other->neutral)) {
    return result;
  }
  struct vec3 gradient[2] = {{{0}}, {{0}}};
  for (int k = 0; k < 3; k++) {
    gradient[0] = vec3_add(gradient[0], vec3_scale(row_of(&one->jacobian, k), weight.v[k]));
    gradient[1] = vec3_add(gradient[1], vec3_scale(row_of(&other->jacobian, k), -weight.v[k]));
  }
  result.value = weight.v[0] * remainder(one->munsell.hue - other->munsell.hue, 100) +
                 weight.v[1] * (one->munsell.value - other->munsell.value) +
                 weight.v[2] * (one->munsell.chroma - other->munsell.chroma);
  result.given = deposits_variance(c, d, (size_t[]){deposit, (size_t)parent}, gradient, 2, &variance, &error);
  result.spread = result.given ? QUANTILE_NORMAL_95 * sqrt(variance) : 0;
  return result;
}

/* The same subject in another state; NULL: not read in it. */
static const struct deposit *in_state(const struct deposits *d, size_t deposit, enum region_moisture state)
{
  for (size_t i = 0; i < d->count; i++) {
    if (d->list[i].subject == d->list[deposit].subject && d->list[i].moisture == state) {
      return &d->list[i];
    }
  }
  return NULL;
}

static bool is_gley_hue(struct munsell m)
{
  static const double hue[] = {30, 35, 40, 45, 50, 55, 60, 65, 70, 75};

  for (size_t i = 0; i < sizeof hue / sizeof *hue; i++) {
    if (fabs(m.hue - hue[i]) < 1) {
      return true;
    }
  }
  return munsell_is_neutral(m);
}

static bool claric(struct munsell m, enum region_moisture state)
{
  if (state == MOISTURE_DRY) {
    return (m.value >= 7 && m.chroma <= 3) || (m.value >= 5 && m.chroma <= 2);
  }
  return (m.value >= 6 && m.chroma <= 4) || (m.value >= 5 && m.chroma <= 3) ||
         (m.value >= 4 && m.chroma <= 2);
}

/* Whether chips meet the class; `dry` is used by the two that need it. */
static bool meets(enum soil_index index, struct munsell m, enum region_moisture state, struct munsell dry)
{
  switch (index) {
  case INDEX_MOLLIC:
    return m.value <= 3 && m.chroma <= 3 && dry.value <= 5;
  case INDEX_CHERNIC:
    return m.value <= 3 && m.chroma <= 2 && dry.value <= 5;
  case INDEX_CLARIC:
    return claric(m, state);
  case INDEX_GLEY:
    return is_gley_hue(m) && m.value >= 4 && m.chroma <= (fabs(m.hue - 45) < 1 ? 2 : 1);
  default:
    return m.value >= 4 && m.chroma <= 2;
  }
}

/* Value and chroma moved by `signs` times their spreads, then to the steps of charts; the hue of the chip stays. */
static struct munsell moved(const struct deposit *deposit, int value_sign, int chroma_sign)
{
  struct vec3 value = row_of(&deposit->jacobian, 1), chroma = row_of(&deposit->jacobian, 2);
  double v = QUANTILE_NORMAL_95 * sqrt(vec3_dot(value, mat3_apply(deposit->covariance, value)));
  double c = QUANTILE_NORMAL_95 * sqrt(vec3_dot(chroma, mat3_apply(deposit->covariance, chroma)));
  struct munsell m = deposit->chip->colour;

  m.value = round(deposit->munsell.value + value_sign * v);
  m.chroma = fmax(round(deposit->munsell.chroma + chroma_sign * c), 0);
  return m;
}

static struct index_value class_with_limit(const struct deposits *d, size_t deposit, enum soil_index index)
{
  const struct deposit *self = &d->list[deposit], *dry = in_state(d, deposit, MOISTURE_DRY);
  bool needs_dry = index == INDEX_MOLLIC || index == INDEX_CHERNIC;
  bool right_state =
      self->moisture == MOISTURE_MOIST || (index == INDEX_CLARIC && self->moisture == MOISTURE_DRY);
  struct index_value result = {.given = right_state && (dry || !needs_dry)};

  if (!result.given) {
    return result;
  }
  dry = dry ? dry : self;
  result.met = meets(index, self->chip->colour, self->moisture, dry->chip->colour);
  for (int i = 0; i < 8; i++) {
    result.near_limit |= meets(index, moved(self, i & 1 ? 1 : -1, i & 2 ? 1 : -1), self->moisture,
                               moved(dry, i & 4 ? 1 : -1, 0)) != result.met;
  }
  return result;
}

struct index_value index_of(const struct collection *c, const struct deposits *d, size_t deposit,
                            enum soil_index index)
{
  if (c->item[d->list[deposit].item].region.find[0]) {
    return (struct index_value){.given = false};
  }
  if (index >= INDEX_NUMBERS) {
    return class_with_limit(d, deposit, index);
  }
  if (index == INDEX_RUBIFICATION) {
    return against_parent(c, d, deposit, (struct vec3){{-10 / 2.5, 0, 10}});
  }
  if (index == INDEX_MELANIZATION) {
    return against_parent(c, d, deposit, (struct vec3){{0, -10, 0}});
  }
  return number_with_spread(&d->list[deposit], index);
}
