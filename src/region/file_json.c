/* SPDX-License-Identifier: MIT */
/* Region files as W3C Web Annotations (Recommendation of 23 February 2017): one annotation, an array of them, an
 * AnnotationPage, or an AnnotationCollection whose first page is embedded. Only what outlines and describes a region is
 * read; the rest of the vocabulary may stand there and is passed over. */
#include "region/list.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#include <jansson.h>

#include "base/text.h"
#include "region/outline.h"
#include "region/svg.h"

static bool fault(struct error *error, const char *what)
{
  return error_set(error, ERROR_FILE, "bad-regions", "%s", what);
}

static const char *string_at(const json_t *object, const char *key)
{
  return json_string_value(json_object_get(object, key));
}

/* W3C lets a single value stand for an array of one. */
static size_t count_of(const json_t *value)
{
  return json_is_array(value) ? json_array_size(value) : value && !json_is_null(value);
}

static const json_t *item_of(const json_t *value, size_t index)
{
  return json_is_array(value) ? json_array_get(value, index) : value;
}

static bool has_word(const json_t *value, const char *word)
{
  for (size_t i = 0; i < count_of(value); i++) {
    const char *string = json_string_value(item_of(value, i));
    if (string && strcmp(string, word) == 0) {
      return true;
    }
  }
  return false;
}

/* Media Fragments URI 1.0, 4.2.2: name=value pairs parted by '&'; "xywh=160,120,320,240", pixels unless it says percent. */
static bool take_fragment(const char *fragment, struct region *region, struct error *error)
{
  const char *value = fragment;
  double number[4];
  size_t count;

  while (value && strncmp(value, "xywh=", 5) != 0) {
    value = strchr(value, '&');
    value = value ? value + 1 : NULL;
  }
  if (!value) {
    return fault(error, "the fragment has no xywh=; write xywh=pixel:x,y,w,h");
  }
  value += 5;
  if (strncmp(value, "percent:", 8) == 0) {
    return fault(error, "xywh=percent: is not read, since the file does not know the photo's size; "
                        "write xywh=pixel:x,y,w,h");
  }
  if (strncmp(value, "pixel:", 6) == 0) {
    value += 6;
  }
  if (!list_numbers(value, strcspn(value, "&"), 4, number, &count, error)) {
    return false;
  }
  if (count != 4) {
    return error_set(error, ERROR_FILE, "bad-regions", "%zu numbers are given; xywh takes x,y,w,h", count);
  }
  return outline_rectangle(region, number[0], number[1], number[2], number[3], error);
}

/* `done` says whether the selector was one that is read; false in it and true returned means: look at the next. */
static bool take_selector(const json_t *selector, struct region *region, bool *done, struct error *error)
{
  const json_t *type = json_object_get(selector, "type");
  const char *value = string_at(selector, "value");
  bool svg = has_word(type, "SvgSelector");

  *done = svg || has_word(type, "FragmentSelector");
  if (!*done) {
    return true;
  }
  if (json_object_get(selector, "refinedBy")) {
    return fault(error,
                 "a selector refined by another is not read; give one FragmentSelector or SvgSelector");
  }
  if (!value) {
    return fault(error, "the selector lacks its value; write such as \"value\": \"xywh=pixel:120,80,60,40\"");
  }
  return svg ? svg_outline(value, region, error) : take_fragment(value, region, error);
}

/* Several selectors describe the same place (W3C 4.2); the first one that is read is taken. */
static bool take_selectors(const json_t *selectors, struct region *region, struct error *error)
{
  bool done = false;

  for (size_t i = 0; i < count_of(selectors) && !done; i++) {
    if (!take_selector(item_of(selectors, i), region, &done, error)) {
      return false;
    }
  }
  return done ||
         fault(error, "the target has no FragmentSelector or SvgSelector; outline the region with one");
}

static int hexadecimal(char c)
{
  const char *digits = "0123456789abcdef", *found = c ? strchr(digits, tolower((unsigned char)c)) : NULL;

  return found ? (int)(found - digits) : -1;
}

/* %20 and the like (RFC 3986, 2.1); what is no escape stays as it is. */
static void undo_escapes(const char *text, size_t length, struct text *out)
{
  for (size_t i = 0; i < length; i++) {
    int high = text[i] == '%' && i + 2 < length ? hexadecimal(text[i + 1]) : -1;
    int low = high >= 0 ? hexadecimal(text[i + 2]) : -1;
    char byte = low >= 0 ? (char)(16 * high + low) : text[i];
    text_add_bytes(out, &byte, 1);
    i += low >= 0 ? 2 : 0;
  }
}

/* The photo's file name: the last part of a source's path. In an address (with ://) it ends before ? or #, and escapes are
 * undone; else the source is a file name already. */
static bool take_source(const char *source, size_t length, struct region *region, struct error *error)
{
  struct text name = {0};
  bool address = memmem(source, length, "://", 3) != NULL;

  if (address) {
    length = strcspn(source, "?#") < length ? strcspn(source, "?#") : length;
  }
  const char *slash = memrchr(source, '/', length);
  const char *last = slash ? slash + 1 : source;
  size_t last_length = (size_t)(source + length - last);
  if (address) {
    undo_escapes(last, last_length, &name);
  } else {
    text_add_bytes(&name, last, last_length);
  }
  size_t bad = name.data ? list_bad_byte((const uint8_t *)name.data, name.length) : 0;
  bool done = name.failed         ? error_no_memory(error, "the name of a photo")
              : bad < name.length ? fault(error, "the source's escapes are no UTF-8; write the file's name")
              : !name.data        ? true
                                  : list_set_fact(region, FACT_PHOTO, name.data, name.length, error);
  text_clear(&name);
  return done;
}

/* "photo.jpg#xywh=..." */
static bool take_target_string(const char *target, struct region *region, struct error *error)
{
  const char *mark = strchr(target, '#');

  if (!mark) {
    return fault(error, "the target outlines nothing; add #xywh=pixel:x,y,w,h or a selector");
  }
  return take_source(target, (size_t)(mark - target), region, error) &&
         take_fragment(mark + 1, region, error);
}

static bool take_target(const json_t *targets, struct region *region, struct error *error)
{
  const json_t *target = item_of(targets, 0);

  if (count_of(targets) != 1) {
    return fault(error, "an annotation needs one target; give each region its own annotation");
  }
  if (json_is_string(target)) {
    return take_target_string(json_string_value(target), region, error);
  }
  const json_t *selector = json_object_get(target, "selector"), *source = json_object_get(target, "source");
  const char *name = json_is_string(source) ? json_string_value(source) : string_at(source, "id");
  if (!selector && string_at(target, "id")) {
    return take_target_string(string_at(target, "id"), region, error);
  }
  if (name && !take_source(name, strlen(name), region, error)) {
    return false;
  }
  return take_selectors(selector, region, error);
}

/* A tag `key=value` states a fact; other tags are the annotator's own. */
static bool take_tag(const char *tag, struct region *region, bool stated[LIST_FACTS], struct error *error)
{
  const char *equals = strchr(tag, '=');

  if (!equals) {
    return true;
  }
  tag += strspn(tag, " ");
  size_t length = (size_t)(equals - tag);
  while (length > 0 && tag[length - 1] == ' ') {
    length--;
  }
  enum list_fact fact = list_fact_named(tag, length);
  if (fact == LIST_FACTS || fact == FACT_PHOTO) {
    return true;
  }
  if (stated[fact]) {
    return error_set(error, ERROR_FILE, "bad-regions", "%s is stated twice; keep one tag",
                     list_fact_name(fact));
  }
  stated[fact] = true;
  return list_set_fact(region, fact, equals + 1, strlen(equals + 1), error);
}

static bool take_bodies(const json_t *bodies, struct region *region, struct error *error)
{
  bool stated[LIST_FACTS] = {false};

  for (size_t i = 0; i < count_of(bodies); i++) {
    const json_t *body = item_of(bodies, i);
    const char *value = string_at(body, "value");
    if (value && has_word(json_object_get(body, "purpose"), "tagging") &&
        !take_tag(value, region, stated, error)) {
      return false;
    }
  }
  return true;
}

/* A region without a label of its own is called by its context, else by the end of the annotation's id, else by number. */
static bool make_label(const json_t *annotation, struct list_entry *entry, struct error *error)
{
  struct region *region = &entry->region;
  const char *id = string_at(annotation, "id");

  entry->labelled = region->label[0] != '\0';
  if (entry->labelled) {
    return true;
  }
  if (region->context[0]) {
    return list_set_fact(region, FACT_LABEL, region->context, strlen(region->context), error);
  }
  const char *last = id ? id + strlen(id) : NULL;
  while (last && last > id && !strchr("/#", last[-1])) {
    last--;
  }
  if (last && *last && strlen(last) < sizeof region->label) {
    return list_set_fact(region, FACT_LABEL, last, strlen(last), error);
  }
  snprintf(region->label, sizeof region->label, "region %ld", entry->at);
  return true;
}

static bool take_annotation(const json_t *annotation, struct list_builder *builder, struct error *error)
{
  struct list_entry entry = {.at = (long)builder->count + 1};
  const json_t *target = json_object_get(annotation, "target");
  bool done;

  if (!json_is_object(annotation) || !target) {
    done = fault(error, "this is no annotation; it needs a target");
  } else {
    done = take_target(target, &entry.region, error) &&
           take_bodies(json_object_get(annotation, "body"), &entry.region, error) &&
           make_label(annotation, &entry, error);
  }
  if (done) {
    return list_add(builder, entry, error);
  }
  char place[64];
  snprintf(place, sizeof place, "annotation %ld", entry.at);
  region_clear(&entry.region);
  return error_prefix(error, place);
}

static bool take_annotations(const json_t *items, struct list_builder *builder, struct error *error)
{
  for (size_t i = 0; i < json_array_size(items); i++) {
    if (!take_annotation(json_array_get(items, i), builder, error)) {
      return false;
    }
  }
  return true;
}

static bool take_root(const json_t *root, struct list_builder *builder, struct error *error)
{
  const json_t *first = json_object_get(root, "first");
  const json_t *items = json_object_get(json_is_object(first) ? first : root, "items");

  if (json_is_array(root)) {
    return take_annotations(root, builder, error);
  }
  if (items) {
    return json_is_array(items) ? take_annotations(items, builder, error)
                                : fault(error, "the page's items are no array; list the annotations in it");
  }
  if (json_is_string(first)) {
    return fault(error, "the collection's pages are elsewhere; give the page itself");
  }
  return take_annotation(root, builder, error);
}

bool region_file_json(const struct file_bytes *file, struct list_builder *builder, struct error *error)
{
  json_error_t where;
  json_t *root = json_loadb((const char *)file->data, file->size, JSON_REJECT_DUPLICATES, &where);

  builder->unit = "annotation";
  if (!root) {
    return error_set(error, ERROR_FILE, "bad-regions", "line %d, column %d: %s; correct the JSON", where.line,
                     where.column, where.text);
  }
  bool done = take_root(root, builder, error);
  json_decref(root);
  return done;
}
