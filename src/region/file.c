/* SPDX-License-Identifier: MIT */
#include "region/file.h"

#include <string.h>
#include <strings.h>

#include "region/list.h"

static bool ends_with(const char *path, const char *ending)
{
  size_t length = strlen(path), tail = strlen(ending);

  return length >= tail && strcasecmp(path + length - tail, ending) == 0;
}

/* Programs of some systems put this mark before UTF-8 text. */
static void skip_mark(struct file_bytes *text)
{
  if (text->size >= 3 && memcmp(text->data, "\xef\xbb\xbf", 3) == 0) {
    text->data += 3;
    text->size -= 3;
  }
}

static bool is_json(const char *path, const struct file_bytes *text)
{
  const char *start = (const char *)text->data;

  if (ends_with(path, ".json") || ends_with(path, ".jsonld")) {
    return true;
  }
  start += strspn(start, " \t\r\n");
  return !ends_with(path, ".csv") && (*start == '{' || *start == '[');
}

/* The first bytes of PNG and JPEG files. */
static bool is_picture(const struct file_bytes *text)
{
  static const char *const magic[] = {"\x89PNG", "\xff\xd8\xff"};
  bool is = false;

  for (int k = 0; k < 2; k++) {
    size_t length = strlen(magic[k]);
    is = is || (text->size > length && memcmp(text->data, magic[k], length) == 0);
  }
  return is;
}

static bool check_encoding(const struct file_bytes *text, struct error *error)
{
  size_t bad = list_bad_byte(text->data, text->size), start = 0;
  long line = 1;

  if (is_picture(text)) {
    return error_set(error, ERROR_FILE, "bad-regions", "this is a picture; name the file of its outlines");
  }
  if (bad == text->size) {
    return true;
  }
  for (size_t i = 0; i < bad; i++) {
    if (text->data[i] == '\n') {
      line++;
      start = i + 1;
    }
  }
  return error_set(error, ERROR_FILE, "bad-regions",
                   "line %ld, byte %zu is no UTF-8 text; save the file again as UTF-8", line,
                   bad - start + 1);
}

bool region_file_parse(const char *name, const struct file_bytes *file, struct region_list *list,
                       struct error *error)
{
  struct list_builder builder = {0};
  struct file_bytes text = *file;

  *list = (struct region_list){0};
  skip_mark(&text);
  bool (*read)(const struct file_bytes *, struct list_builder *, struct error *) =
      is_json(name, &text) ? region_file_json : region_file_csv;
  bool done =
      check_encoding(&text, error) && read(&text, &builder, error) && list_finish(&builder, list, error);
  list_builder_clear(&builder);
  return done || error_prefix(error, name);
}

bool region_file_read(const char *path, struct region_list *list, struct error *error)
{
  struct file_bytes file;

  *list = (struct region_list){0};
  if (!file_read(path, REGION_FILE_LIMIT, &file, error)) {
    return false;
  }
  bool done = region_file_parse(path, &file, list, error);
  file_bytes_clear(&file);
  return done;
}
