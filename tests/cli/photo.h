/* SPDX-License-Identifier: MIT */
/* A plain picture of the 24-patch card between two flat soils, as a made-up camera sees it: enough to see the command line at work. How well colours
 * are read is judged on rendered scenes, not here. */
#ifndef TAWNY_TESTS_CLI_PHOTO_H
#define TAWNY_TESTS_CLI_PHOTO_H

#include <stdbool.h>

enum { PHOTO_WIDTH = 900, PHOTO_HEIGHT = 640 };

/* Writes it to `path` (.png or .jpg); without a card, soils alone. Ends the test when that is not possible. */
void photo_write(const char *path, bool with_card);

/* Four words of --patches, quoted for run_tawny(). */
const char *photo_corners(void);

/* A region file with "left" (context 1042, moist) and "right" (1043, moist), which touch, and two rows of another photo. */
extern const char PHOTO_REGIONS[];

#endif
