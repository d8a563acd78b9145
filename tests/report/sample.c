/* SPDX-License-Identifier: MIT */
#include "sample.h"

#include <stdio.h>
#include <string.h>

static const struct munsell_chip DARK_BROWN = {.notation = "10YR 3/3", .name = "dark brown"};
static const struct munsell_chip YELLOWISH = {.notation = "10YR 5/4", .name = "yellowish brown"};
static const struct munsell_chip GRAY = {.notation = "N 5/", .name = "gray"};

static struct region region(const char *context, enum region_moisture moisture, const char *role)
{
  struct region r = {.moisture = moisture, .shape = REGION_RECTANGLE};

  snprintf(r.label, sizeof r.label, "%s", context);
  snprintf(r.context, sizeof r.context, "%s", context);
  snprintf(r.role, sizeof r.role, "%s", role);
  return r;
}

static struct reading reading(const struct region *of, struct lab lab, struct munsell munsell,
                              const struct munsell_chip *chip, const struct munsell_chip *runner_up)
{
  struct reading r = {.region = of, .measured = true, .lab_d50 = lab, .munsell = munsell, .chip = chip};

  r.statistics.gain = (struct vec3){{1.08, 1.08, 1.08}};
  r.statistics.pixels = 4321;
  r.statistics.left_out = (struct region_left_out){.share = 0.05, .glint = 0.02, .specks = 0.03};
  r.xyY_c = (struct xyY){0.386, 0.372, 6.5};
  r.runner_up = runner_up;
  r.chip_chance = 0.71;
  r.runner_up_chance = runner_up ? 0.18 : 0;
  r.chip_de00 = 1.9;
  r.radius = 1.8;
  r.spread95 = (struct munsell){0.6, 0.1, 0.2};
  r.cause[BUDGET_FIT] = mat3_identity();
  r.cause[BUDGET_REGION] = mat3_scale(mat3_identity(), 0.25);
  return r;
}

static void make_card(struct sample *s)
{
  static const char *const name[SAMPLE_PATCHES] = {"dark skin", "white", "black"};
  struct measurement *m = &s->measurement;

  for (int i = 0; i < SAMPLE_PATCHES; i++) {
    snprintf(s->patch[i].name, sizeof s->patch[i].name, "%s", name[i]);
  }
  s->view[0].code = (struct vec3){{0.35, 0.25, 0.2}};
  s->view[1].code = (struct vec3){{0.93, 0.91, 0.9}};
  s->view[2].code = (struct vec3){{0.05, 0.05, 0.04}};
  m->patches.view = s->view;
  m->pose.patch_pixels = 48;
  m->pose.tilt_degrees = 3;
  s->card_sample[1].cause = CARD_CLIPPED;
  s->card_sample[2].left_one_out = 2.75;
  s->card_sample[2].radius = 4.125;
  m->card_found = true;
  snprintf(m->card.name, sizeof m->card.name, "chart24-1976");
  snprintf(m->card.title, sizeof m->card.title, "Classic 24-patch chart, aims of 1976");
  m->card.patch = s->patch;
  m->card.count = SAMPLE_PATCHES;
  m->patches.count = SAMPLE_PATCHES;
  m->sample = s->card_sample;
  m->profile.used = 2;
  m->profile.residual = (struct profile_residual){.median = 0.5, .p90 = 1, .p95 = 1.25, .max = 2.5};
  m->profile.left_one_out = (struct profile_residual){.median = 0.9, .p90 = 1.5, .p95 = 1.75, .max = 3.125};
  m->pose.mm_per_pixel = 0.25;
  for (int k = 0; k < 4; k++) {
    m->pose.corner[k] = (struct point){100.5 + k, 200.25};
  }
}

static void make_regions(struct sample *s)
{
  s->region[0] = region("1042", MOISTURE_MOIST, "fill");
  s->region[1] = region("1043", MOISTURE_MOIST, "surrounding deposit");
  s->region[2] = region("1044", MOISTURE_DRY, "");
  s->region[3] = region("1045", MOISTURE_UNSTATED, "");
  s->reading[0] = reading(&s->region[0], (struct lab){31.6, 6.1, 14.9}, (struct munsell){19.1, 3.2, 2.8},
                          &DARK_BROWN, &YELLOWISH);
  s->reading[1] = reading(&s->region[1], (struct lab){51.25, 5.5, 24.125}, (struct munsell){20.4, 5.1, 4.1},
                          &YELLOWISH, &DARK_BROWN);
  s->reading[2] =
      reading(&s->region[2], (struct lab){50, -0.01, 0.1}, (struct munsell){0, 5.1, 0.02}, &GRAY, NULL);
  s->reading[2].neutral = true;
  s->reading[2].spread95.hue = 0;
  s->reading[3] = (struct reading){.region = &s->region[3]};
  error_set(&s->reading[3].error, ERROR_UNMEASURABLE, "outside",
            "the outline leaves the photo; draw it inside");
}

static void make_pairs(struct sample *s)
{
  s->pair[0] = (struct comparison){.a = 0,
                                   .b = 1,
                                   .touching = true,
                                   .de00 = 18.25,
                                   .uncertainty = 1.5,
                                   .apart = true,
                                   .contrast = CONTRAST_DISTINCT,
                                   .same_moisture = 1};
  s->pair[1] = (struct comparison){.a = 0,
                                   .b = 2,
                                   .touching = true,
                                   .de00 = 19,
                                   .uncertainty = 1.25,
                                   .apart = true,
                                   .contrast = CONTRAST_FAINT,
                                   .same_moisture = 0};
  s->pair[2] = (struct comparison){.a = 1,
                                   .b = 2,
                                   .touching = false,
                                   .de00 = 1,
                                   .uncertainty = 1.75,
                                   .apart = false,
                                   .contrast = CONTRAST_FAINT,
                                   .same_moisture = -1};
}

static void make_caveats(struct sample *s)
{
  s->caveat[0] = (struct caveat){
      .code = "card-clipped", .text = "1 patch is clipped; expose less", .region = -1, .doubt = true};
  s->caveat[1] = (struct caveat){.code = "two-colours",
                                 .text = "1043 holds two colours; outline them separately",
                                 .region = 1,
                                 .doubt = true};
  s->measurement.caveat = s->caveat;
  s->measurement.caveats = SAMPLE_CAVEATS;
  s->measurement.verdict = VERDICT_DOUBTFUL;
}

void sample_make(struct sample *s)
{
  struct measurement *m = &s->measurement;

  memset(s, 0, sizeof *s);
  snprintf(m->file, sizeof m->file, "section.jpg");
  memset(m->sha256, 'a', 64);
  m->image.width = 4000;
  m->image.height = 3000;
  snprintf(m->image.exposure.taken, sizeof m->image.exposure.taken, "2026-05-04T11:32:05");
  m->encoding.xyz_from_linear = mat3_identity();
  make_card(s);
  make_regions(s);
  make_pairs(s);
  make_caveats(s);
  m->reading = s->reading;
  m->readings = SAMPLE_REGIONS;
}

void sample_mottle(struct sample *s)
{
  struct mottle_part *part = s->mottled.part;

  for (int k = 0; k < 3; k++) {
    part[k].reading = s->reading[k];
  }
  part[0].share = (struct mottle_figure){0.72, 0.64, 0.79};
  part[0].no_size = "it is what the others lie in";
  part[1].share = (struct mottle_figure){0.234, 0.18, 0.29};
  part[1].lumps = 31;
  part[1].sized = true;
  part[1].size = (struct mottle_figure){4.06, 3.5, 4.94};
  part[1].least = 1.25;
  part[1].contrast = CONTRAST_PROMINENT;
  part[1].difference = (struct difference){.de00 = 18.25, .uncertainty = 1.5, .apart = true};
  part[2].share = (struct mottle_figure){0.046, 0.02, 0.09};
  part[2].lumps = 5;
  part[2].no_size = "the card's plane gives no scale so far from the card; lay the card beside the region";
  part[2].difference = (struct difference){.de00 = 9, .uncertainty = 2, .apart = true};
  s->mottled.parts = 3;
  s->mottles = (struct mottle_list){&s->mottled, 1};
}

void sample_without_card(struct sample *s)
{
  struct measurement *m = &s->measurement;

  m->card_found = false;
  error_set(&m->card_error, ERROR_UNMEASURABLE, "no-card", "no card is in the photo; lay one on the face");
  m->readings = m->caveats = 0;
  m->verdict = VERDICT_UNFIT;
}
