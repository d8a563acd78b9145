/* SPDX-License-Identifier: MIT */
#include "report/mixed.h"

#include <math.h>

#include "compare/classes.h"
#include "munsell/notation.h"
#include "report/figures.h"
#include "report/plain.h"

/* From here on FAO 2006 calls them abundant, and they are no mottles but half of a mixture. */
static const double HALF = 0.4;

static const char *class_word(enum class_system system, enum class_attribute attribute, double value)
{
  const struct feature_class *found = class_of(system, attribute, value);

  return found ? found->word : "no class";
}

/* Millimetres with the digits that they deserve. */
static int decimals_of(double mm)
{
  return mm < 9.95 ? 1 : 0;
}

static void add_size(const struct mottle_part *part, struct text *line)
{
  int decimals = decimals_of(part->size.value);

  text_format(line, "%s (%.*f mm, %.*f to %.*f) ", class_word(CLASS_USDA, CLASS_SIZE, part->size.value),
              decimals, part->size.value, decimals, part->size.low, decimals, part->size.high);
}

/* "many (23 %, 18 to 29) medium (4.1 mm, 3.5 to 4.9) prominent mottles 5YR 5/8 yellowish red". */
static void add_entry(const struct mottle_part *part, struct text *line)
{
  const struct munsell_chip *chip = part->reading.chip;

  text_format(line, "%s (", class_word(CLASS_USDA, CLASS_ABUNDANCE, 100 * part->share.value));
  figures_percent(line, part->share.value);
  text_format(line, ", %.0f to %.0f) ", 100 * part->share.low, 100 * part->share.high);
  if (part->sized) {
    add_size(part, line);
  }
  text_format(line, "%s %s %s %s", contrast_word(part->contrast),
              part->share.value < HALF ? "mottles" : "lumps", chip->notation, chip->name);
}

/* What stands behind the entry: the other system, the difference, and why a size is missing. */
static void add_behind(const struct mottle_part *part, struct text *line)
{
  text_format(line, "; CIEDE2000 %.1f ±%.1f; FAO 2006: %s", part->difference.de00,
              part->difference.uncertainty, class_word(CLASS_FAO, CLASS_ABUNDANCE, 100 * part->share.value));
  if (part->sized) {
    text_format(line, ", %s; lumps below %.*f mm are not seen",
                class_word(CLASS_FAO, CLASS_SIZE, part->size.value), decimals_of(part->least), part->least);
  } else {
    text_format(line, "; no size: %s", part->no_size);
  }
}

static void add_region(const struct measurement *m, const struct mottles *mottles, struct text *out)
{
  const struct region *region = m->reading[mottles->reading].region;
  const struct munsell_chip *ground = mottles->part[0].reading.chip;
  struct text line = {0};

  figures_name(region, figures_name_is_shared(m, region), &line);
  text_format(&line, ": %s %s (", ground->notation, ground->name);
  figures_percent(&line, mottles->part[0].share.value);
  text_add(&line, "), with");
  plain_put_paragraph(out, "  ", "    ", &line);
  for (size_t k = 1; k < mottles->parts; k++) {
    add_entry(&mottles->part[k], &line);
    add_behind(&mottles->part[k], &line);
    plain_put_paragraph(out, "    ", "      ", &line);
  }
}

void report_mixed(const struct measurement *measurement, const struct mottle_list *mottles, struct text *out)
{
  if (mottles->count > 0) {
    text_add(
        out,
        "\nMixed colours: share of the area (95 %), median size, contrast of the chips; stones wide enough\n"
        "to be a colour of their own can't be told from mottles\n");
  }
  for (size_t i = 0; i < mottles->count; i++) {
    add_region(measurement, &mottles->item[i], out);
  }
}

static void key_three(struct json_writer *json, const char *key, double a, double b, double c, int decimals)
{
  json_write_key(json, key);
  json_write_open(json, '[');
  json_write_number(json, a, decimals);
  json_write_number(json, b, decimals);
  json_write_number(json, c, decimals);
  json_write_close(json, ']');
}

/* {"usda": word, "fao": word}, null for what is not finite. */
static void key_classes(struct json_writer *json, const char *key, enum class_attribute attribute,
                        double value)
{
  static const char *const name[CLASS_SYSTEMS] = {[CLASS_USDA] = "usda", [CLASS_FAO] = "fao"};

  json_write_key(json, key);
  json_write_open(json, '{');
  for (int k = 0; k < CLASS_SYSTEMS; k++) {
    const struct feature_class *found = class_of((enum class_system)k, attribute, value);
    json_write_key_string(json, name[k], found ? found->word : NULL);
  }
  json_write_close(json, '}');
}

static void add_colour(const struct reading *reading, struct json_writer *json)
{
  char notation[MUNSELL_NOTATION_SIZE];

  munsell_format(reading->munsell, 1, notation);
  key_three(json, "lab_d50", reading->lab_d50.L, reading->lab_d50.a, reading->lab_d50.b, 3);
  json_write_key_string(json, "notation", notation);
  json_write_key_string(json, "chip", reading->chip->notation);
  json_write_key_string(json, "name", reading->chip->name);
  json_write_key_number(json, "uncertainty", reading->radius, 2);
}

static void add_area(const struct mottle_part *part, bool ground, struct json_writer *json)
{
  json_write_key_number(json, "share", part->share.value, 4);
  json_write_key_open(json, "share_95", '[');
  json_write_number(json, part->share.low, 4);
  json_write_number(json, part->share.high, 4);
  json_write_close(json, ']');
  key_classes(json, "abundance", CLASS_ABUNDANCE, ground ? (double)NAN : 100 * part->share.value);
}

static void add_lumps(const struct mottle_part *part, bool ground, struct json_writer *json)
{
  double nothing = (double)NAN;

  json_write_key(json, "lumps");
  if (ground) {
    json_write_null(json);
  } else {
    json_write_count(json, part->lumps);
  }
  json_write_key_number(json, "size_mm", part->sized ? part->size.value : nothing, 2);
  json_write_key(json, "size_mm_95");
  if (part->sized) {
    json_write_open(json, '[');
    json_write_number(json, part->size.low, 2);
    json_write_number(json, part->size.high, 2);
    json_write_close(json, ']');
  } else {
    json_write_null(json);
  }
  key_classes(json, "size", CLASS_SIZE, part->sized ? part->size.value : nothing);
  json_write_key_number(json, "smallest_seen_mm", part->sized ? part->least : nothing, 2);
  json_write_key_string(json, "no_size", part->no_size);
}

static void add_contrast(const struct mottle_part *part, bool ground, struct json_writer *json)
{
  json_write_key_string(json, "contrast", ground ? NULL : contrast_word(part->contrast));
  json_write_key_number(json, "de00", ground ? (double)NAN : part->difference.de00, 2);
  json_write_key_number(json, "de00_uncertainty", ground ? (double)NAN : part->difference.uncertainty, 2);
}

void report_components(const struct measurement *measurement, const struct mottle_list *mottles,
                       const struct reading *reading, struct json_writer *json)
{
  const struct mottles *found = NULL;

  json_write_key(json, "components");
  if (!mottles || !reading->measured) {
    json_write_null(json);
    return;
  }
  found = mottles_of(mottles, (size_t)(reading - measurement->reading));
  json_write_open(json, '[');
  for (size_t k = 0; found && k < found->parts; k++) {
    json_write_open(json, '{');
    add_colour(&found->part[k].reading, json);
    add_area(&found->part[k], k == 0, json);
    add_lumps(&found->part[k], k == 0, json);
    add_contrast(&found->part[k], k == 0, json);
    json_write_close(json, '}');
  }
  json_write_close(json, ']');
}
