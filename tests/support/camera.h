/* SPDX-License-Identifier: MIT */
/* How the renderer's camera turns light into codes. */
#ifndef TAWNY_SUPPORT_CAMERA_H
#define TAWNY_SUPPORT_CAMERA_H

#include "scene.h"

/* Response of the three channels to a reflectance under a light, relative: sum of sensitivity, light and reflectance. */
struct vec3 camera_response(const struct spectrum sensitivity[3], const struct spectrum *reflectance,
                            const struct spectrum *light);

/* The light scaled to luminance 1 of the perfect diffuser. */
struct spectrum camera_light_scaled(const struct spectrum *light);

/* Sets the white balance for the light and fits the matrix by least squares, as makers do: balanced raw of 200 formula-made
 * reflectances to the linear sRGB of their colours under D50; white, which counts most, stays white. */
void camera_adjust(struct scene_camera *camera, const struct spectrum *light);

/* Raises (> 1) or lowers the saturation that the matrix gives, as cameras do to taste. */
void camera_saturate(struct scene_camera *camera, double factor);

/* Code 0..1 of linear sRGB light: sRGB curve, contrast, black. */
double camera_tone(const struct scene_camera *camera, double linear);

/* Linear sRGB (not clipped) from raw signals, by balance and matrix. */
struct vec3 camera_linear(const struct scene_camera *camera, struct vec3 raw);

/* XYZ under D50, Y = 100, of linear sRGB. */
struct mat3 camera_xyz_d50_from_linear(void);

#endif
