/* SPDX-License-Identifier: MIT */
#include "region/list.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/text.h"

void list_builder_clear(struct list_builder *builder)
{
  for (size_t i = 0; i < builder->count; i++) {
    region_clear(&builder->entry[i].region);
  }
  free(builder->entry);
  *builder = (struct list_builder){0};
}

static bool make_room(struct list_builder *builder, struct error *error)
{
  if (builder->count < builder->capacity) {
    return true;
  }
  if (builder->count >= REGION_LIST_MAX) {
    return error_set(error, ERROR_FILE, "bad-regions", "more than %d regions; split the file",
                     REGION_LIST_MAX);
  }
  size_t capacity = builder->capacity ? 2 * builder->capacity : 16;
  struct list_entry *larger = realloc(builder->entry, capacity * sizeof *larger);
  if (!larger) {
    return error_no_memory(error, "the regions");
  }
  builder->entry = larger;
  builder->capacity = capacity;
  return true;
}

bool list_add(struct list_builder *builder, struct list_entry entry, struct error *error)
{
  if (!make_room(builder, error)) {
    region_clear(&entry.region);
    return false;
  }
  builder->entry[builder->count++] = entry;
  return true;
}

/* Order by label, photo, place in the file. The name of a photo counts without its directories. */
static int compare_labels(const void *a, const void *b)
{
  const struct list_entry *p = *(struct list_entry *const *)a, *q = *(struct list_entry *const *)b;
  int order = strcmp(p->region.label, q->region.label);

  if (order == 0) {
    order = strcmp(file_name(p->region.photo), file_name(q->region.photo));
  }
  return order ? order : (p->at > q->at) - (p->at < q->at);
}

/* The same label in one photo; a region without a photo belongs to any. */
static bool clash(const struct list_entry *a, const struct list_entry *b)
{
  return strcmp(a->region.label, b->region.label) == 0 &&
         (a->region.photo[0] == '\0' || b->region.photo[0] == '\0' ||
          strcmp(file_name(a->region.photo), file_name(b->region.photo)) == 0);
}

/* Adds its place to a label that was made, cutting the label where both don't fit. */
static void number_label(struct list_entry *entry)
{
  char number[32];
  size_t room = sizeof entry->region.label,
         length = (size_t)snprintf(number, sizeof number, " #%ld", entry->at);
  size_t keep = strlen(entry->region.label);

  if (keep + length >= room) {
    keep = room - 1 - length;
    while (keep > 0 && ((unsigned char)entry->region.label[keep] & 0xc0) == 0x80) {
      keep--; /* not inside a character */
    }
  }
  memcpy(entry->region.label + keep, number, length + 1);
}

static bool label_twice(const struct list_builder *builder, const struct list_entry *first,
                        const struct list_entry *second, struct error *error)
{
  const struct list_entry *later = first->at > second->at ? first : second;
  const struct list_entry *earlier = later == first ? second : first;

  return error_set(
      error, ERROR_FILE, "bad-regions",
      "%s %ld: the region %s stands already in %s %ld; give each region of a photo its own label",
      builder->unit, later->at, later->region.label, builder->unit, earlier->at);
}

/* Sorts and finds the clashes. Within one label a region of any photo comes first and clashes with all, the others with
 * their neighbours, so these three are all there is to ask. Returns the first pair of given labels, if any. */
static bool find_clashes(size_t count, struct list_entry **order, struct list_entry *pair[2])
{
  struct list_entry *head = NULL;
  bool given = false;

  qsort(order, count, sizeof(struct list_entry *), compare_labels);
  for (size_t i = 0; i < count; i++) {
    struct list_entry *entry = order[i], *before = i > 0 ? order[i - 1] : NULL;
    head = head && strcmp(head->region.label, entry->region.label) == 0 ? head : entry;
    before = before && clash(before, entry) ? before : head != entry && clash(head, entry) ? head : NULL;
    entry->clashes = before != NULL;
    if (before) {
      before->clashes = true;
      if (!given && before->labelled && entry->labelled) {
        pair[0] = before;
        pair[1] = entry;
        given = true;
      }
    }
  }
  return given;
}

static bool make_unique(struct list_builder *builder, struct error *error)
{
  struct list_entry **order = calloc(builder->count + 1, sizeof(struct list_entry *)), *pair[2];

  if (!order) {
    return error_no_memory(error, "the labels");
  }
  for (size_t i = 0; i < builder->count; i++) {
    order[i] = &builder->entry[i];
  }
  bool done = !find_clashes(builder->count, order, pair);
  for (size_t i = 0; done && i < builder->count; i++) {
    if (builder->entry[i].clashes && !builder->entry[i].labelled) {
      number_label(&builder->entry[i]);
    }
    builder->entry[i].labelled = true;
  }
  done = done && !find_clashes(builder->count, order, pair);
  free(order);
  return done || label_twice(builder, pair[0], pair[1], error);
}

bool list_finish(struct list_builder *builder, struct region_list *list, struct error *error)
{
  if (!make_unique(builder, error)) {
    return false;
  }
  list->region = calloc(builder->count ? builder->count : 1, sizeof *list->region);
  if (!list->region) {
    return error_no_memory(error, "the regions");
  }
  for (size_t i = 0; i < builder->count; i++) {
    list->region[i] = builder->entry[i].region;
  }
  list->count = builder->count;
  builder->count = 0;
  return true;
}

static const char *const FACT_NAME[LIST_FACTS] = {"photo", "region", "context", "find",
                                                  "zone",  "role",   "moisture"};

enum list_fact list_fact_named(const char *name, size_t length)
{
  for (int i = 0; i < LIST_FACTS; i++) {
    if (strlen(FACT_NAME[i]) == length && strncasecmp(FACT_NAME[i], name, length) == 0) {
      return (enum list_fact)i;
    }
  }
  return LIST_FACTS;
}

const char *list_fact_name(enum list_fact fact)
{
  return FACT_NAME[fact];
}

/* Where the region keeps a fact of words. */
static char *fact_place(struct region *region, enum list_fact fact, size_t *size)
{
  switch (fact) {
  case FACT_PHOTO:
    *size = sizeof region->photo;
    return region->photo;
  case FACT_LABEL:
    *size = sizeof region->label;
    return region->label;
  case FACT_CONTEXT:
    *size = sizeof region->context;
    return region->context;
  case FACT_FIND:
    *size = sizeof region->find;
    return region->find;
  case FACT_ZONE:
    *size = sizeof region->zone;
    return region->zone;
  case FACT_ROLE:
  default:
    *size = sizeof region->role;
    return region->role;
  }
}

static bool is_blank(char c)
{
  return c == ' ' || c == '\t' || c == '\n' || c == '\r';
}

static void trim(const char **text, size_t *length)
{
  while (*length > 0 && is_blank((*text)[0])) {
    (*text)++;
    (*length)--;
  }
  while (*length > 0 && is_blank((*text)[*length - 1])) {
    (*length)--;
  }
}

/* C0, DEL, and C1 as UTF-8 writes it: they would steer a terminal. */
static bool has_control(const char *text, size_t length)
{
  for (size_t i = 0; i < length; i++) {
    unsigned char c = (unsigned char)text[i], next = i + 1 < length ? (unsigned char)text[i + 1] : 0;
    if (c < 0x20 || c == 0x7f || (c == 0xc2 && next >= 0x80 && next < 0xa0)) {
      return true;
    }
  }
  return false;
}

static bool set_moisture(struct region *region, const char *value, size_t length, struct error *error)
{
  char word[32];

  snprintf(word, sizeof word, "%.*s", (int)(length < sizeof word ? length : sizeof word - 1), value);
  if (length >= sizeof word || !region_moisture_parse(word, &region->moisture)) {
    return error_set(error, ERROR_FILE, "bad-regions",
                     "moisture '%s' is not known; write dry, moist, wet or leave it empty", word);
  }
  return true;
}

bool list_set_fact(struct region *region, enum list_fact fact, const char *value, size_t length,
                   struct error *error)
{
  size_t size;

  trim(&value, &length);
  if (has_control(value, length)) {
    return error_set(error, ERROR_FILE, "bad-regions",
                     "%s holds a line break or control character; take it out", FACT_NAME[fact]);
  }
  if (fact == FACT_MOISTURE) {
    return set_moisture(region, value, length, error);
  }
  char *place = fact_place(region, fact, &size);
  if (length >= size) {
    return error_set(error, ERROR_FILE, "bad-regions", "%s is longer than %zu bytes; shorten it",
                     FACT_NAME[fact], size - 1);
  }
  memcpy(place, value, length);
  place[length] = '\0';
  return true;
}

static bool no_number(const char *word, size_t length, struct error *error)
{
  char shown[32];
  size_t end = 0;

  while (end < length && !is_blank(word[end]) && word[end] != ',') {
    end++;
  }
  snprintf(shown, sizeof shown, "%.*s", (int)(end < 24 ? end : 24), word);
  return error_set(error, ERROR_FILE, "bad-regions", "'%s' is no number; write pixels such as 120 or 120.5",
                   shown);
}

bool list_numbers(const char *text, size_t length, size_t limit, double *number, size_t *count,
                  struct error *error)
{
  size_t at = 0;

  *count = 0;
  trim(&text, &length);
  while (at < length) {
    size_t begin = at;
    while (at < length && !is_blank(text[at]) && text[at] != ',') {
      at++;
    }
    if (*count == limit) {
      return error_set(error, ERROR_FILE, "bad-regions", "more than %zu numbers; give fewer", limit);
    }
    if (!text_number_bytes(text + begin, at - begin, &number[*count])) {
      return no_number(text + begin, length - begin, error);
    }
    ++*count;
    while (at < length && is_blank(text[at])) {
      at++;
    }
    bool comma = at < length && text[at] == ',';
    at += comma;
    while (at < length && is_blank(text[at])) {
      at++;
    }
    if (comma && at == length) {
      return no_number("", 0, error);
    }
  }
  return true;
}

/* Length of the UTF-8 sequence at `data`, 0 where there is none (RFC 3629: shortest form, no surrogates). */
static size_t sequence_length(const uint8_t *data, size_t size)
{
  uint8_t c = data[0], low = 0x80, high = 0xbf;
  size_t length = c < 0x80                ? 1
                  : c >= 0xc2 && c < 0xe0 ? 2
                  : (c & 0xf0) == 0xe0    ? 3
                  : c >= 0xf0 && c < 0xf5 ? 4
                                          : 0;

  if (c == 0 || length == 0 || length > size) {
    return 0;
  }
  low = c == 0xe0 ? 0xa0 : c == 0xf0 ? 0x90 : low;
  high = c == 0xed ? 0x9f : c == 0xf4 ? 0x8f : high;
  for (size_t i = 1; i < length; i++, low = 0x80, high = 0xbf) {
    if (data[i] < low || data[i] > high) {
      return 0;
    }
  }
  return length;
}

size_t list_bad_byte(const uint8_t *data, size_t size)
{
  size_t at = 0;

  while (at < size) {
    size_t length = sequence_length(data + at, size - at);
    if (length == 0) {
      break;
    }
    at += length;
  }
  return at;
}
