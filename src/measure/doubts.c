/* SPDX-License-Identifier: MIT */
#include "measure/doubts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

/* Limits, each in the unit of its name. Set on rendered scenes that report nothing in docs/accuracy.md. */
static const double RADIUS_SOUND = 5;       /* CIEDE2000: about half a chip step           */
static const double CARD_PATCH_PIXELS = 12; /* below, edges and sharpening reach the middle */
static const double USED_PATCHES = 0.6;     /* share of the card's patches                  */
static const size_t GLARE_PATCHES = 3, CLIPPED_GREYS = 2;
static const double LEFT_ONE_OUT_P90 = 7; /* CIEDE2000                                    */
static const double SECOND_CARD = 4;      /* CIEDE2000                                    */
static const double LIGHT_DISAGREES = 3;  /* standard deviations                          */
static const double TILT = 45;            /* degrees                                      */
static const double LEFT_OUT = 0.4;       /* share of a region's pixels                   */
static const double CLIPPED = 0.05;       /* the same                                     */
static const double LOBES = 8;            /* CIEDE2000                                    */
static const double DRIFT = 0.35;         /* log light over a region: 40 %                */
static const double BEYOND = 0.02;        /* share of a region across a shadow edge       */

struct doubts {
  struct measurement *measurement;
  size_t capacity;
  bool failed;
};

static void add(struct doubts *doubts, int region, const char *code, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

static void add(struct doubts *doubts, int region, const char *code, const char *format, ...)
{
  struct measurement *m = doubts->measurement;
  va_list arguments;

  if (m->caveats == doubts->capacity) {
    size_t capacity = doubts->capacity ? 2 * doubts->capacity : 16;
    struct caveat *larger = realloc(m->caveat, capacity * sizeof *larger);
    if (!larger) {
      doubts->failed = true;
      return;
    }
    m->caveat = larger;
    doubts->capacity = capacity;
  }
  struct caveat *caveat = &m->caveat[m->caveats++];
  caveat->region = region;
  caveat->doubt = true;
  snprintf(caveat->code, sizeof caveat->code, "%s", code);
  va_start(arguments, format);
  vsnprintf(caveat->text, sizeof caveat->text, format, arguments);
  va_end(arguments);
}

static size_t patches_left_out(const struct measurement *m, enum card_cause cause, bool greys_only)
{
  size_t count = 0;

  for (size_t i = 0; i < m->patches.count; i++) {
    count += m->sample[i].cause == cause && (m->sample[i].grey || !greys_only);
  }
  return count;
}

/* Saturated patches leave the file's gamut in any well exposed photo; clipped greys are a matter of exposure. */
static void about_patches(struct doubts *doubts)
{
  const struct measurement *m = doubts->measurement;
  size_t clipped = patches_left_out(m, CARD_CLIPPED, true), glare = patches_left_out(m, CARD_GLARE, false);
  size_t shaded = patches_left_out(m, CARD_SHADED, false);

  if (shaded > 0 && !m->light.shadow_over_card) { /* which says the same */
    add(doubts, -1, "card-shaded",
        "part of the card lies in shadow (patches left out: %zu); move it into the light of the face",
        shaded);
  }
  if (glare >= GLARE_PATCHES) {
    add(doubts, -1, "card-glare",
        "the card mirrors the light (patches left out: %zu); tilt it a little or stand elsewhere", glare);
  }
  if (clipped >= CLIPPED_GREYS) {
    add(doubts, -1, "card-clipped",
        "the light greys of the card are clipped (patches left out: %zu); expose less", clipped);
  }
  if ((double)m->profile.used < USED_PATCHES * (double)m->patches.count) {
    add(doubts, -1, "few-patches",
        "only %zu of %zu patches steer the camera model; clean, light and expose the card evenly",
        m->profile.used, m->patches.count);
  }
}

static void about_card(struct doubts *doubts)
{
  const struct measurement *m = doubts->measurement;

  if (m->pose.patch_pixels < CARD_PATCH_PIXELS) {
    add(doubts, -1, "card-small", "the card's patches are only %.0f pixels wide; go closer",
        m->pose.patch_pixels);
  }
  if (m->pose.tilt_degrees > TILT) {
    add(doubts, -1, "card-tilted",
        "the card leans %.0f degrees away from the camera; photograph it more squarely",
        m->pose.tilt_degrees);
  }
  if (m->profile.left_one_out.p90 > LEFT_ONE_OUT_P90) {
    add(doubts, -1, "poor-fit",
        "the patches disagree with any one camera and light (a tenth are off by %.1f CIEDE2000 or more); "
        "look for a wrong, worn "
        "or dirty card, mixed light, or a phone's picture styles",
        m->profile.left_one_out.p90);
  }
  if (m->second_card && m->second_card_error > SECOND_CARD) {
    add(doubts, -1, "second-card",
        "the second card reads %.1f CIEDE2000 off through the first; see which one lies in the deposits' "
        "light",
        m->second_card_error);
  }
}

static void about_light(struct doubts *doubts)
{
  const struct light *light = &doubts->measurement->light;

  if (light->shadow_over_card) {
    add(doubts, -1, "shadow-on-card",
        "a shadow edge crosses the card; put card and face into one even light");
  } else if (light->shadow_edge && doubts->measurement->readings == 0) {
    /* with regions, those that it concerns are told one by one */
    add(doubts, -1, "shadow-edge", "a shadow edge runs through the photo; regions beyond it are less sure");
  } else if (light->shadow_unsure && doubts->measurement->readings == 0) {
    add(doubts, -1, "shadow-unsure",
        "a straight step in brightness runs through the photo; if it is the edge of a shadow, put card and "
        "face "
        "into one even light");
  }
  if (light->estimated && light->disagreement > LIGHT_DISAGREES) {
    add(doubts, -1, "light-unclear",
        "deposits and card do not agree on how the light falls off over the frame; use one even light, or "
        "shade the whole face");
  }
}

static void about_exposure(struct doubts *doubts)
{
  const struct image_exposure *exposure = &doubts->measurement->image.exposure;

  if (exposure->flash_fired == IMAGE_YES) {
    add(doubts, -1, "flash", "the flash fired, and its light falls off with distance; switch it off");
  }
  if (exposure->specially_processed == IMAGE_YES || exposure->altered_tone == IMAGE_YES) {
    add(doubts, -1, "processed",
        "the camera altered the picture (HDR, effect, contrast or saturation); use the plain style");
  }
}

/* At places half a patch apart. */
static bool side_touches_card(const struct measurement *m, struct point a, struct point b)
{
  int steps = 1 + (int)(2 * hypot(b.x - a.x, b.y - a.y) / fmax(m->pose.patch_pixels, 1));
  bool touches = false;

  for (int i = 0; i < steps && !touches; i++) {
    double t = (double)i / steps;
    struct point place = {a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)};
    touches = card_pose_covers(&m->pose, &m->card, place);
  }
  return touches;
}

/* A side of the outline on the card, or the card in the outline. */
static bool touches_card(const struct measurement *m, const struct region *region)
{
  bool touches = false;

  for (size_t i = 0; i < region->vertices && !touches; i++) {
    touches = side_touches_card(m, region->vertex[i], region->vertex[(i + 1) % region->vertices]);
  }
  for (size_t i = 0; i < m->card.count && !touches; i++) {
    touches = region_contains(region, m->patches.view[i].centre);
  }
  return touches;
}

static void about_place(struct doubts *doubts, int index, const struct reading *reading)
{
  const struct measurement *m = doubts->measurement;
  const char *label = reading->region->label;

  if (touches_card(m, reading->region)) {
    add(doubts, index, "on-card", "%s lies on the card or reaches over it; outline the deposit alone", label);
  }
  if (reading->statistics.beyond > BEYOND) {
    add(doubts, index, "beyond-shadow", "%s lies across or beyond a shadow edge; its light is less sure",
        label);
  }
  if (light_is_unsure(&m->light, reading->statistics.centre)) {
    add(doubts, index, "shadow-unsure",
        "%s lies beyond a straight step in brightness, and its radius allows for a shadow's edge there; if "
        "it is one, put card and face into one even light",
        label);
  }
}

static void about_outline(struct doubts *doubts, int index, const struct reading *reading)
{
  const struct region_statistics *s = &reading->statistics;
  const char *label = reading->region->label;

  if (s->left_out.clipped > CLIPPED) {
    add(doubts, index, "clipped", "%.0f %% of %s is clipped; expose less", 100 * s->left_out.clipped, label);
  }
  if (s->left_out.share > LEFT_OUT) {
    add(doubts, index, "much-left-out",
        "%.0f %% of %s was left out; draw it clear of stones, roots, glint and shadow",
        100 * s->left_out.share, label);
  }
  if (s->lobes > LOBES) {
    add(doubts, index, "two-colours",
        "%s holds two colours %.0f CIEDE2000 apart; see \"Mixed colours\" for what there is of each, or "
        "outline them separately",
        label, s->lobes);
  }
  if (fmax(fabs(s->drift.v[0]), fmax(fabs(s->drift.v[1]), fabs(s->drift.v[2]))) > DRIFT) {
    add(doubts, index, "drift", "%s grades from one side to the other; draw it smaller or shade it evenly",
        label);
  }
}

static void about_reading(struct doubts *doubts, int index, const struct reading *reading)
{
  const char *label = reading->region->label;

  about_place(doubts, index, reading);
  about_outline(doubts, index, reading);
  if (reading->radius > RADIUS_SOUND) {
    add(doubts, index, "wide",
        "%s is only known to %.1f CIEDE2000; put the card beside it, in the same light", label,
        reading->radius);
  }
  if (reading->place == MUNSELL_OUTSIDE) {
    add(doubts, index, "no-surface",
        "%s reads as a colour that no surface can have; look for glare or coloured light", label);
  }
}

/* What is told but is no doubt: the last one added. */
static void make_note(struct doubts *doubts)
{
  struct measurement *m = doubts->measurement;

  if (m->caveats > 0) {
    m->caveat[m->caveats - 1].doubt = false;
  }
}

/* The card mends what a curve that was only supposed gets wrong. */
static void note_profile(struct doubts *doubts)
{
  const char *kind = doubts->measurement->encoding.not_used;

  if (kind) {
    add(doubts, -1, "profile-not-used",
        "the file's colour profile is %s and was not used; sRGB's curve was the starting point for the "
        "card's patches",
        kind);
    make_note(doubts);
  }
}

/* Whoever gave no outlines is told where those of the readings come from. */
static void note_proposed(struct doubts *doubts)
{
  struct measurement *m = doubts->measurement;

  add(doubts, -1, "proposed",
      "no outlines were given, so these %zu were proposed by colour; `tawny propose --outlines` writes them "
      "to correct "
      "and name, with context and moisture",
      m->readings);
  make_note(doubts);
}

static enum verdict verdict_of(const struct measurement *m)
{
  bool any = m->readings == 0;

  for (size_t i = 0; i < m->readings; i++) {
    any = any || m->reading[i].measured;
  }
  if (!m->card_found || !any) {
    return VERDICT_UNFIT;
  }
  size_t doubts = 0;
  for (size_t i = 0; i < m->caveats; i++) {
    doubts += m->caveat[i].doubt;
  }
  return doubts > 0 ? VERDICT_DOUBTFUL : VERDICT_SOUND;
}

bool doubts_list(struct measurement *measurement, struct error *error)
{
  struct doubts doubts = {.measurement = measurement};

  if (measurement->card_found) {
    about_patches(&doubts);
    about_card(&doubts);
    about_light(&doubts);
    about_exposure(&doubts);
    note_profile(&doubts);
    for (size_t i = 0; i < measurement->readings; i++) {
      if (measurement->reading[i].measured) {
        about_reading(&doubts, (int)i, &measurement->reading[i]);
      }
    }
  }
  if (measurement->proposed && measurement->readings > 0) {
    note_proposed(&doubts);
  }
  measurement->verdict = verdict_of(measurement);
  return doubts.failed ? error_no_memory(error, "the list of doubts") : true;
}
