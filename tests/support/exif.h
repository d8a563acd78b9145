/* SPDX-License-Identifier: MIT */
/* A small EXIF 2.3 block as cameras write it. */
#ifndef TAWNY_SUPPORT_EXIF_H
#define TAWNY_SUPPORT_EXIF_H

#include <stddef.h>
#include <stdint.h>

#include "scene.h"

enum { EXIF_BYTES_MAX = 512 };

/* Payload of the APP1 marker: exposure 1/125 s, f/8, ISO 100, 35 mm, no flash, white balance by hand, taken
 * 2026-05-04 11:32:05. Returns its length. */
size_t exif_block(const struct scene_file *how, uint8_t block[EXIF_BYTES_MAX]);

#endif
