/* SPDX-License-Identifier: MIT */
/* A face divided into deposits by colour, to correct and name: a proposal, never a finding.
 *
 * It begins with the deposits that the light of the photo was estimated with (light/light.h): light and division are one
 * estimation. Neighbours are joined while this photo does not tell their colours apart. What is no deposit is left out as far
 * as it is recognised: the card and its margin; strings (strings.h), boards and bars (boards.h), which outlines go round or across;
 * what is nowhere wider than 1.2 % of the frame's diagonal (rods, rims); colours that soils do not have, and white or black
 * without texture; smooth things with straight sides; parts of less than half a per cent of the face. Not recognised: tools and
 * sacks of an earthy colour, plants in the shade, shadows other than the one straight edge that light.h finds. Colour is not
 * context: one deposit may be two contexts, and two deposits one. */
#ifndef TAWNY_MEASURE_PROPOSE_H
#define TAWNY_MEASURE_PROPOSE_H

#include "measure/measure.h"

/* Below this difference a boundary is easily missed by eye on a rough face: less than half a chip step. */
#define PROPOSAL_EASILY_MISSED 4.0 /* CIEDE2000 */

/* Divides the face of a photo whose card and light are known. ERROR_INTERNAL for want of memory only: a face of which nothing is
 * left has no parts. */
bool propose_deposits(const struct image_blocks *blocks, const struct measurement *measurement,
                      struct proposal *proposal, struct error *error);

#endif
