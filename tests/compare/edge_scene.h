/* SPDX-License-Identifier: MIT */
/* Rendered faces with a card and a boundary, measured. */
#ifndef TAWNY_TESTS_COMPARE_EDGE_SCENE_H
#define TAWNY_TESTS_COMPARE_EDGE_SCENE_H

#include "compare/edge.h"
#include "scene.h"

enum { FACE_WIDTH = 900, FACE_HEIGHT = 640 };

/* A brown and a yellower, lighter soil, parted by an upright boundary at x = 620, `thick` pixels from 10 to 90 %, that leans by
 * `degrees`; the card on the left, one mm a pixel; texture and a little noise. */
void edge_scene(double thick, double degrees, uint64_t seed, struct scene *scene);

/* The same with the first soil everywhere. */
void edge_scene_plain(uint64_t seed, struct scene *scene);

/* Renders and measures. The cards must outlive the measurement. Ends the test where that is not possible. */
void edge_scene_measure(const struct scene *scene, const struct card_list *cards,
                        struct measurement *measurement);

#endif
