/* SPDX-License-Identifier: MIT */
/* From a scene to a picture. Each material is taken through light and camera spectrally once, for direct and for sky light;
 * pixels mix these by the light at their place. */
#ifndef TAWNY_SUPPORT_RENDER_H
#define TAWNY_SUPPORT_RENDER_H

#include <stdint.h>

#include "base/error.h"
#include "base/file.h"
#include "scene.h"

struct picture {
  int width, height;
  uint8_t *rgb; /* owned; rows top down, no padding */
};

/* The codes as the camera makes them, before any file: same scene, same bytes. */
bool render_picture(const struct scene *scene, struct picture *picture, struct error *error);
void picture_clear(struct picture *picture);

/* The picture as a JPEG or PNG file, as scene->file says. Owned by the caller. */
bool picture_file(const struct picture *picture, const struct scene_file *how, struct file_bytes *file,
                  struct error *error);

/* Both in one. */
bool render_file(const struct scene *scene, struct file_bytes *file, struct error *error);

#endif
