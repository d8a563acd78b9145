/* SPDX-License-Identifier: MIT */
#include "exif.h"

#include <stdio.h>
#include <string.h>

/* EXIF 2.3, 4.6: little-endian TIFF; an entry is tag, type, count and a value of four bytes or its place. */
enum { ASCII = 2, SHORT = 3, LONG = 4, RATIONAL = 5 };
enum { HEADER = 6, ENTRY = 12 }; /* "Exif\0\0" stands before the TIFF */

struct writer {
  uint8_t *block;
  size_t entry; /* where the next entry goes    */
  size_t value; /* where the next long value goes */
};

static void put(uint8_t *at, uint32_t number, int bytes)
{
  for (int i = 0; i < bytes; i++) {
    at[i] = (uint8_t)(number >> (8 * i));
  }
}

static void put_entry(struct writer *w, uint32_t tag, uint32_t type, uint32_t count, uint32_t value)
{
  put(w->block + w->entry, tag, 2);
  put(w->block + w->entry + 2, type, 2);
  put(w->block + w->entry + 4, count, 4);
  put(w->block + w->entry + 8, value, 4);
  w->entry += ENTRY;
}

static void put_text(struct writer *w, uint32_t tag, const char *text)
{
  size_t size = strlen(text) + 1;

  if (size <= 4) { /* short ones stand in the entry itself */
    put_entry(w, tag, ASCII, (uint32_t)size, 0);
    memcpy(w->block + w->entry - 4, text, size);
    return;
  }
  put_entry(w, tag, ASCII, (uint32_t)size, (uint32_t)(w->value - HEADER));
  memcpy(w->block + w->value, text, size);
  w->value += size + size % 2;
}

static void put_ratio(struct writer *w, uint32_t tag, uint32_t over, uint32_t under)
{
  put_entry(w, tag, RATIONAL, 1, (uint32_t)(w->value - HEADER));
  put(w->block + w->value, over, 4);
  put(w->block + w->value + 4, under, 4);
  w->value += 8;
}

/* Starts a directory at `place` of so many entries; its long values follow it. */
static void start_directory(struct writer *w, size_t place, uint32_t entries)
{
  put(w->block + place, entries, 2);
  w->entry = place + 2;
  w->value = place + 2 + ENTRY * entries + 4;
}

size_t exif_block(const struct scene_file *how, uint8_t block[EXIF_BYTES_MAX])
{
  struct writer w = {.block = block};
  char model[64];

  memset(block, 0, EXIF_BYTES_MAX);
  memcpy(block, "Exif\0\0II*\0", 10);
  put(block + 10, 8, 4);
  snprintf(model, sizeof model, "%s", how->camera);
  start_directory(&w, HEADER + 8, 4);
  put_text(&w, 0x010f, "tawny");
  put_text(&w, 0x0110, model);
  put_entry(&w, 0x0112, SHORT, 1, (uint32_t)how->orientation);
  put_entry(&w, 0x8769, LONG, 1, (uint32_t)(w.value - HEADER));
  start_directory(&w, w.value, 8);
  put_ratio(&w, 0x829a, 1, 125);
  put_ratio(&w, 0x829d, 8, 1);
  put_entry(&w, 0x8827, SHORT, 1, 100);
  put_text(&w, 0x9003, "2026:05:04 11:32:05");
  put_entry(&w, 0x9209, SHORT, 1, 0);
  put_ratio(&w, 0x920a, 35, 1);
  put_entry(&w, 0xa401, SHORT, 1, 0);
  put_entry(&w, 0xa403, SHORT, 1, 1);
  return w.value;
}
