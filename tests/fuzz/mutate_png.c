/* SPDX-License-Identifier: MIT */
/* Lets the search get past the checksums of PNG: after each change they are set right again, most of the time. */
#include <string.h>

#include "fuzz.h"

size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t room); /* libFuzzer's own */
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed);

static uint32_t get_long(const uint8_t *at)
{
  return (uint32_t)at[0] << 24 | (uint32_t)at[1] << 16 | (uint32_t)at[2] << 8 | at[3];
}

/* PNG specification, annex on the CRC (ISO 3309). */
static uint32_t checksum(const uint8_t *data, size_t size)
{
  uint32_t crc = 0xffffffffu;

  for (size_t i = 0; i < size; i++) {
    crc ^= data[i];
    for (int bit = 0; bit < 8; bit++) {
      crc = crc & 1 ? crc >> 1 ^ 0xedb88320u : crc >> 1;
    }
  }
  return ~crc;
}

static void mend_checksums(uint8_t *data, size_t size)
{
  for (size_t at = 8; at + 12 <= size;) {
    size_t length = get_long(data + at);
    if (length > size - at - 12) {
      return;
    }
    uint32_t crc = checksum(data + at + 4, 4 + length);
    for (size_t i = 0; i < 4; i++) {
      data[at + 8 + length + i] = (uint8_t)(crc >> (24 - 8 * i));
    }
    at += 12 + length;
  }
}

size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed)
{
  size = LLVMFuzzerMutate(data, size, room);
  if (size > 8 && memcmp(data, "\x89PNG\r\n\x1a\n", 8) == 0 && seed % 8) {
    mend_checksums(data, size);
  }
  return size;
}
