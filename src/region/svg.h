/* SPDX-License-Identifier: MIT */
/* The small part of SVG that outlines regions (W3C Web Annotation, SvgSelector): one polygon, rect, circle or ellipse in
 * photo pixels, bare or inside svg and g elements. */
#ifndef TAWNY_REGION_SVG_H
#define TAWNY_REGION_SVG_H

#include "region/region.h"

/* Gives the region the outline that the SVG text describes. ERROR_FILE "bad-regions", with the place counted in bytes from
 * 1, for other shapes (path, line ...), more than one shape, transforms, view boxes that scale, rounded corners, units other
 * than px, and what is no XML. */
bool svg_outline(const char *text, struct region *region, struct error *error);

#endif
