/* SPDX-License-Identifier: MIT */
/* A region list as it grows while a file is read; shared by the readers of both kinds of file. */
#ifndef TAWNY_REGION_LIST_H
#define TAWNY_REGION_LIST_H

#include "base/file.h"
#include "region/region.h"

enum { REGION_LIST_MAX = 100000 };

struct list_entry {
  struct region region; /* owned */
  bool labelled;        /* the file gives the label; false: it was made from other facts */
  bool clashes;         /* with another of the same label and photo; list_finish's own   */
  long at;              /* line of the file, or number of the annotation, from 1        */
};

struct list_builder {
  struct list_entry *entry; /* owned */
  size_t count, capacity;
  const char *unit; /* what `at` counts: "line", "annotation" */
};

void list_builder_clear(struct list_builder *builder);

/* Takes over what `entry` owns, also when it fails (too many regions, no memory). */
bool list_add(struct list_builder *builder, struct list_entry entry, struct error *error);

/* Sees to it that labels are unique within each photo - labels that were made get the number of their place, labels that
 * were given twice are a fault - and hands the regions over in the order of the file. */
bool list_finish(struct list_builder *builder, struct region_list *list, struct error *error);

/* What a file may say about a region besides its shape. */
enum list_fact {
  FACT_PHOTO,
  FACT_LABEL,
  FACT_CONTEXT,
  FACT_FIND,
  FACT_ZONE,
  FACT_ROLE,
  FACT_MOISTURE,
  LIST_FACTS
};

/* The fact of this name in any case, or LIST_FACTS. */
enum list_fact list_fact_named(const char *name, size_t length);
const char *list_fact_name(enum list_fact fact);

/* Writes a fact into the region without the blanks round it. Refused: what is too long, control characters, unknown moisture
 * words. */
bool list_set_fact(struct region *region, enum list_fact fact, const char *value, size_t length,
                   struct error *error);

/* Reads numbers parted by blanks or one comma each; at most `limit`. The error names the word that is no number. */
bool list_numbers(const char *text, size_t length, size_t limit, double *number, size_t *count,
                  struct error *error);

/* Position of the first byte that is no UTF-8 (RFC 3629) or is a NUL; `size` where there is none. */
size_t list_bad_byte(const uint8_t *data, size_t size);

bool region_file_csv(const struct file_bytes *file, struct list_builder *builder, struct error *error);
bool region_file_json(const struct file_bytes *file, struct list_builder *builder, struct error *error);

#endif
