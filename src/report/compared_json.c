/* SPDX-License-Identifier: MIT */
/* A comparison as one line of JSON. */
#include <math.h>

#include "report/compared.h"
#include "report/figures.h"
#include "report/json_write.h"

static void key_fact(struct json_writer *json, const char *key, const char *fact)
{
  json_write_key_string(json, key, fact[0] ? fact : NULL);
}

static void key_lab(struct json_writer *json, const char *key, struct lab lab)
{
  json_write_key_open(json, key, '[');
  json_write_number(json, lab.L, 3);
  json_write_number(json, lab.a, 3);
  json_write_number(json, lab.b, 3);
  json_write_close(json, ']');
}

static void key_hvc(struct json_writer *json, struct munsell m)
{
  json_write_key_open(json, "hvc", '[');
  json_write_number(json, munsell_is_neutral(m) ? (double)NAN : m.hue, 2);
  json_write_number(json, m.value, 2);
  json_write_number(json, m.chroma, 2);
  json_write_close(json, ']');
}

static void add_photos(struct json_writer *json, const struct collection *c)
{
  json_write_key_open(json, "photos", '[');
  for (size_t i = 0; i < c->photos; i++) {
    json_write_open(json, '{');
    json_write_key_string(json, "file", c->photo[i].file);
    key_fact(json, "sha256", c->photo[i].sha256);
    json_write_key_count(json, "readings", c->photo[i].count);
    json_write_key_bool(json, "shared_known", c->photo[i].shares);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void add_facts(struct json_writer *json, const struct region *region)
{
  key_fact(json, "context", region->context);
  key_fact(json, "find", region->find);
  key_fact(json, "zone", region->zone);
  key_fact(json, "role", region->role);
  json_write_key_string(json, "moisture", region_moisture_word(region->moisture));
}

static void add_readings(struct json_writer *json, const struct findings *f)
{
  json_write_key_open(json, "readings", '[');
  for (size_t i = 0; i < f->collection->count; i++) {
    const struct collected *item = &f->collection->item[i];
    json_write_open(json, '{');
    json_write_key_count(json, "photo", item->photo);
    json_write_key_string(json, "region", item->region.label);
    add_facts(json, &item->region);
    json_write_key_count(json, "deposit", f->deposits.of[i]);
    key_lab(json, "lab_d50", item->reading.lab_d50);
    key_hvc(json, item->reading.munsell);
    json_write_key_string(json, "chip", item->reading.chip->notation);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void key_steps(struct json_writer *json, const char *key, struct steps steps)
{
  json_write_key_open(json, key, '{');
  json_write_key_number(json, "pages", steps.hue_known ? steps.pages : (double)NAN, 2);
  json_write_key_number(json, "value", steps.value, 2);
  json_write_key_number(json, "chroma", steps.chroma, 2);
  json_write_close(json, '}');
}

static void key_same_moisture(struct json_writer *json, int same)
{
  json_write_key(json, "same_moisture");
  if (same < 0) {
    json_write_null(json);
  } else {
    json_write_bool(json, same > 0);
  }
}

/* The bands stand in the order of the readings, the pair as it was asked for. */
static void add_boundary(struct json_writer *json, const struct pair *pair)
{
  const struct collected_touch *touch = pair->touch;

  json_write_key(json, "boundary");
  if (!touch || touch->saved) {
    json_write_null(json);
    return;
  }
  const struct boundary *b = &touch->boundary;
  json_write_open(json, '{');
  json_write_key_number(json, "overlap", b->overlap, 3);
  if (b->compared) {
    json_write_key_number(json, "de00", b->difference.de00, 2);
    json_write_key_number(json, "uncertainty", b->difference.uncertainty, 2);
    json_write_key_bool(json, "apart", b->difference.apart);
    json_write_key_number(json, "gap_pixels", b->gap, 1);
    json_write_key_number(json, "band_pixels", b->width, 1);
    key_lab(json, "lab_d50_a", b->lab[pair->a == touch->a ? 0 : 1]);
    key_lab(json, "lab_d50_b", b->lab[pair->a == touch->a ? 1 : 0]);
  } else {
    json_write_key_open(json, "error", '{');
    json_write_key_string(json, "code", b->error.code);
    json_write_key_string(json, "text", b->error.text);
    json_write_close(json, '}');
  }
  json_write_close(json, '}');
}

static void add_parts(struct json_writer *json, const struct pair *pair)
{
  json_write_key_open(json, "parts", '{');
  json_write_key_number(json, "lightness", pair->parts.lightness, 2);
  json_write_key_number(json, "chroma", pair->parts.chroma, 2);
  json_write_key_number(json, "hue", pair->parts.hue, 2);
  json_write_close(json, '}');
  json_write_key_open(json, "parts_apart", '{');
  json_write_key_bool(json, "lightness", pair->lightness);
  json_write_key_bool(json, "chroma", pair->chroma);
  json_write_key_bool(json, "hue", pair->hue);
  json_write_close(json, '}');
}

static void add_pair(struct json_writer *json, const struct findings *f, struct pair_choice choice)
{
  struct pair pair = pair_of(f->collection, choice.a, choice.b);

  json_write_open(json, '{');
  json_write_key_count(json, "a", pair.a);
  json_write_key_count(json, "b", pair.b);
  json_write_key_string(json, "region_a", f->collection->item[pair.a].region.label);
  json_write_key_string(json, "region_b", f->collection->item[pair.b].region.label);
  json_write_key_bool(json, "touching", pair.touch != NULL);
  json_write_key_number(json, "de00", pair.difference.de00, 2);
  json_write_key_number(json, "uncertainty", pair.difference.uncertainty, 2);
  json_write_key_bool(json, "apart", pair.difference.apart);
  add_parts(json, &pair);
  key_steps(json, "munsell", pair.measured);
  key_steps(json, "chips", pair.chips);
  json_write_key_string(json, "contrast", contrast_word(pair.contrast));
  json_write_key_string(json, "contrast_interpolated", contrast_word(pair.interpolated));
  key_same_moisture(json, pair.same_moisture);
  add_boundary(json, &pair);
  json_write_close(json, '}');
}

static void add_pairs(struct json_writer *json, const struct findings *f)
{
  json_write_key_open(json, "sheet_pairs", '[');
  for (size_t i = 0; i < f->lines; i++) {
    add_pair(json, f, f->line[i]);
  }
  json_write_close(json, ']');
  json_write_key_open(json, "pairs", '[');
  for (size_t i = 0; i < f->shown_count; i++) {
    add_pair(json, f, f->shown[i]);
  }
  json_write_close(json, ']');
}

/* Row i holds the pairs of reading i with readings 0 to i - 1. Half a million numbers are written past the writer's care for single
 * ones. */
static void add_table(struct json_writer *json, const struct pair_table *table)
{
  char digits[TEXT_FIXED_SIZE];

  json_write_key_open(json, "all_de00", '[');
  for (size_t i = 1; i < table->count; i++) {
    json_write_open(json, '[');
    for (size_t j = 0; j < i; j++) {
      size_t length = text_fixed(digits, (double)table->de00[pair_index(table->count, j, i)], 2);
      text_add_bytes(json->out, ", ", j == 0 ? 0 : 2);
      text_add_bytes(json->out, digits, length);
    }
    json_write_close(json, ']');
  }
  json_write_close(json, ']');
  json_write_key_open(json, "all_apart", '[');
  for (size_t i = 1; i < table->count; i++) {
    json_write_open(json, '[');
    for (size_t j = 0; j < i; j++) {
      text_add_bytes(json->out, ", ", j == 0 ? 0 : 2);
      text_add_bytes(json->out, table->apart[pair_index(table->count, j, i)] ? "1" : "0", 1);
    }
    json_write_close(json, ']');
  }
  json_write_close(json, ']');
}

static void add_index(struct json_writer *json, const struct findings *f, size_t deposit,
                      enum soil_index index)
{
  struct index_value v = index_of(f->collection, &f->deposits, deposit, index);

  if (!v.given) {
    return;
  }
  json_write_open(json, '{');
  json_write_key_string(json, "name", index_name(index));
  json_write_key_string(json, "formula", index_formula(index));
  json_write_key_string(json, "source", index_source(index));
  if (index < INDEX_NUMBERS) {
    json_write_key_number(json, "value", v.value, 3);
    json_write_key_number(json, "uncertainty", v.spread, 3);
  } else {
    json_write_key_bool(json, "met", v.met);
    json_write_key_bool(json, "near_limit", v.near_limit);
    json_write_key_string(json, "extent", "colour part only");
  }
  json_write_close(json, '}');
}

static void add_estimate(struct json_writer *json, const struct deposit *deposit)
{
  struct moisture_estimate estimate = moisture_estimate_dry(deposit);

  json_write_key_open(json, "estimate_dry", '{');
  json_write_key_number(json, "value", estimate.value, 2);
  json_write_key_number(json, "uncertainty", estimate.spread, 2);
  json_write_close(json, '}');
}

static void add_deposits(struct json_writer *json, const struct findings *f, struct compared_style style)
{
  json_write_key_open(json, "deposits", '[');
  for (size_t i = 0; i < f->deposits.count; i++) {
    const struct deposit *deposit = &f->deposits.list[i];
    json_write_open(json, '{');
    add_facts(json, &f->collection->item[deposit->item].region);
    json_write_key_count(json, "readings", deposit->readings);
    key_lab(json, "lab_d50", deposit->mean);
    key_hvc(json, deposit->munsell);
    json_write_key_string(json, "chip", deposit->chip->notation);
    json_write_key_open(json, "indices", '[');
    for (int k = 0; k < INDICES; k++) {
      add_index(json, f, i, (enum soil_index)k);
    }
    json_write_close(json, ']');
    if (style.estimate_dry && deposit->moisture == MOISTURE_MOIST) {
      add_estimate(json, deposit);
    }
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void add_components(struct json_writer *json, const struct findings *f)
{
  static const enum region_moisture state[] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET, MOISTURE_UNSTATED};

  json_write_key_open(json, "components", '[');
  for (size_t s = 0; s < sizeof state / sizeof *state; s++) {
    struct components c = deposits_components(f->collection, &f->deposits, state[s]);
    if (c.readings > 0) {
      json_write_open(json, '{');
      json_write_key_string(json, "moisture", region_moisture_word(state[s]));
      json_write_key_count(json, "readings", c.readings);
      json_write_key_count(json, "deposits", c.deposits);
      json_write_key_number(json, "within", c.known ? c.within : (double)NAN, 3);
      json_write_key_number(json, "between", c.known ? c.between : (double)NAN, 3);
      json_write_key_number(json, "share", c.known ? c.share : (double)NAN, 4);
      json_write_close(json, '}');
    }
  }
  json_write_close(json, ']');
}

static const char *remark_code(enum moisture_remark remark)
{
  static const char *const code[] = {NULL, "states-swapped", "dry-not-lighter", "large-shift"};

  return code[remark];
}

static void add_shifts(struct json_writer *json, const struct findings *f)
{
  json_write_key_open(json, "moisture_shifts", '[');
  for (size_t i = 0; i < f->shifts; i++) {
    const struct moisture_shift *shift = &f->shift[i];
    json_write_open(json, '{');
    json_write_key_count(json, "drier", shift->drier);
    json_write_key_count(json, "wetter", shift->wetter);
    json_write_key_number(json, "de00", shift->de00, 2);
    key_steps(json, "munsell", shift->steps);
    json_write_key_open(json, "uncertainty", '{');
    json_write_key_number(json, "pages", shift->steps.hue_known ? shift->pages_spread : (double)NAN, 2);
    json_write_key_number(json, "value", shift->value_spread, 2);
    json_write_key_number(json, "chroma", shift->chroma_spread, 2);
    json_write_close(json, '}');
    json_write_key_number(json, "share_as_odd", shift->published ? shift->share : (double)NAN, 4);
    json_write_key_string(json, "remark", remark_code(shift->remark));
    json_write_key_bool(json, "hue_odd", shift->hue_odd);
    json_write_key_bool(json, "chroma_odd", shift->chroma_odd);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

static void add_contrasts(struct json_writer *json, const struct findings *f)
{
  json_write_key_open(json, "wetting", '[');
  for (size_t i = 0; i < f->contrasts; i++) {
    const struct moisture_contrast *contrast = &f->contrast[i];
    json_write_open(json, '{');
    for (int k = 0; k < 2; k++) {
      json_write_key_count(json, k ? "drier_b" : "drier_a", contrast->drier[k]);
      json_write_key_count(json, k ? "wetter_b" : "wetter_a", contrast->wetter[k]);
    }
    json_write_key_number(json, "de00_drier", contrast->apart_drier, 2);
    json_write_key_number(json, "de00_wetter", contrast->apart_wetter, 2);
    json_write_key_number(json, "gain", contrast->gain, 2);
    json_write_key_number(json, "uncertainty", contrast->spread, 2);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}

bool report_compared_json(const struct findings *f, struct compared_style style, struct text *out,
                          struct error *error)
{
  struct json_writer json = {.out = out};
  size_t start = out->length;

  json_write_open(&json, '{');
  json_write_key_open(&json, "program", '{');
  json_write_key_string(&json, "version", TAWNY_VERSION);
  json_write_key_string(&json, "method", FIGURES_METHOD);
  json_write_close(&json, '}');
  add_photos(&json, f->collection);
  add_readings(&json, f);
  add_deposits(&json, f, style);
  add_components(&json, f);
  add_shifts(&json, f);
  add_contrasts(&json, f);
  add_pairs(&json, f);
  add_table(&json, &f->table);
  json_write_close(&json, '}');
  return json_write_end(&json, start, true, "the JSON of a comparison", error);
}
