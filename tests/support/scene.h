/* SPDX-License-Identifier: MIT */
/* A scene: a section face (or a table) with deposits and a reference card, the light on it, and the camera that looks.
 *
 * Everything is held by value, so scenes are copied with `=`. render.h makes the picture, truth.h what it should read. */
#ifndef TAWNY_SUPPORT_SCENE_H
#define TAWNY_SUPPORT_SCENE_H

#include <stdbool.h>
#include <stdint.h>

#include "card/pose.h"
#include "region/region.h"
#include "source.h"

enum {
  SCENE_PATCHES_MAX = 48,
  SCENE_DEPOSITS_MAX = 12,
  SCENE_VERTICES_MAX = 96,
  SCENE_REGIONS_MAX = 32,
  SCENE_EDGES_MAX = 2
};

/* Patches in rows, even sizes, on a frame. */
struct chart_geometry {
  int columns, rows;
  double patch_mm, gap_mm, border_mm; /* gap and border may be 0 */
};

/* The classic 24-patch chart at full size: 6 x 4 patches of 40 mm at 45.5 mm (common practice, from memory). */
extern const struct chart_geometry CHART24_GEOMETRY;

struct scene_card {
  bool present;
  struct chart_geometry geometry;
  struct spectrum patch[SCENE_PATCHES_MAX], frame;
  double glare
      [SCENE_PATCHES_MAX]; /* mirrored light as a share of a white surface's, 0 none; falls off over the patch */
  struct point centre;     /* of the card, pixels                                               */
  double mm_per_pixel;     /* at the centre, across the tilt                                    */
  double rotation_degrees; /* clockwise in the picture                                          */
  double tilt_degrees, tilt_direction_degrees; /* true perspective, camera of scene.focal_pixels       */
  bool mirrored;
};

struct scene_texture {
  double size;   /* standard deviation of log reflectance, fine and coarse parts together               */
  double grain;  /* pixels: length of the fine part                                                     */
  double coarse; /* share of the variance that is of 20 to 100 pixels' length, 0..1                     */
  double mottle; /* standard deviation of colour: log of red over blue reflectance, of coarse length    */
  double stones; /* share of the area covered by inclusions                                             */
  double stone_pixels;
  double glint; /* share of pixels that mirror the light                                               */
};

struct scene_deposit {
  struct point vertex[SCENE_VERTICES_MAX]; /* pixels; later deposits cover earlier ones                 */
  int vertices;
  struct spectrum reflectance;
  struct scene_texture texture;
  enum region_moisture moisture;
  char context[24], find[24], zone[24], role[24];
};

/* Lumps of one deposit's soil strewn in another: mottles, mixed fills. */
struct scene_lumps {
  int in, of;    /* deposits; `of` may have no outline of its own                                       */
  double share;  /* of the area that is `of`, over faces of this kind; 0 none                           */
  double pixels; /* median diameter                                                                     */
};

struct scene_region {
  char label[32];
  int deposit; /* whose reflectance is the truth                                                         */
  enum region_shape shape;
  struct point vertex[8]; /* rectangle: two opposite corners; circle: centre; polygon: all               */
  int vertices;
  double radius; /* circle */
};

/* A straight boundary in which one deposit passes into another: at distance d from it, d counted from the first to the second, the second
 * makes up the share Phi(d / s) of each pixel, 2.563 s = `thick` (Phi: the normal distribution's integral). */
struct scene_boundary {
  bool present;
  int first, second; /* deposits, each with its outline on its side                              */
  struct point place;
  double degrees; /* direction across it, from the first to the second                           */
  double thick;   /* pixels across it from 10 to 90 % of the way; 0: a clean cut                 */
};

/* A line drawn across the face. */
struct scene_line {
  struct point from, to;
};

/* A shadow lies where every edge has it: beyond the line through `place`, on the side `degrees` points to. */
struct scene_edge {
  struct point place;
  double degrees, softness; /* pixels from 16 to 84 % */
};

/* At a place p, in half diagonals from the frame's middle:
 *   direct = (1 - sky_share) exp(gradient . p + bulge |p|^2) (1 - depth shade), sky = sky_share exp(sky_gradient . p),
 * both times a fall-off of the lens, (1 + (vignette |p|)^2)^-2. Spectra are scaled to the same luminance. */
struct scene_light {
  struct spectrum direct, sky;
  double sky_share, gradient[2], bulge, sky_gradient[2], vignette;
  struct scene_edge edge[SCENE_EDGES_MAX];
  int edges;
  double depth;
};

/* response = sensitivities; raw = exposure * response / response of white in green, clipped at 1; then blur, noise, white
 * balance, matrix, clipping, sRGB curve, contrast, black, 8 bits. */
struct scene_camera {
  struct spectrum sensitivity[3];
  double exposure; /* green raw signal of the perfect diffuser under direct light of weight 1            */
  double blur;     /* pixels, standard deviation                                                         */
  double veil;     /* stray light inside the lens: share of the picture's mean added everywhere          */
  double read_noise, shot_noise; /* variance = read^2 + shot * signal                                    */
  struct vec3 balance;           /* see camera_adjust()                                                  */
  struct mat3 matrix;            /* balanced raw to linear sRGB                                          */
  double contrast;               /* 0 plain sRGB curve, 1 full S                                         */
  double black;                  /* code of no light, 0..1                                               */
};

struct scene_file {
  int jpeg_quality;   /* 1..100, colour at half resolution; 0 for PNG                                    */
  bool exif;          /* with facts of exposure                                                          */
  int orientation;    /* EXIF, 1 upright; the picture is stored turned so that it shows upright          */
  const char *camera; /* model                                                                           */
};

struct scene {
  int width, height;
  double focal_pixels;
  uint64_t seed;
  struct scene_card card;
  struct scene_deposit deposit[SCENE_DEPOSITS_MAX];
  int deposits;
  struct scene_lumps lumps;
  struct scene_boundary boundary;
  struct scene_line line; /* of scene_random_edge()                                              */
  struct scene_region region[SCENE_REGIONS_MAX];
  int regions;
  struct scene_light light;
  struct scene_camera camera;
  struct scene_file file;
};

/* A plain scene to change: one grey deposit over the whole picture, no card placed, even D65-like light, a camera of made.h
 * without noise or blur, PNG. */
void scene_plain(struct scene *scene, int width, int height, uint64_t seed);

/* Gives the card an edition of the 24-patch chart. `differs` > 0 makes each patch differ from it by a smooth spectral deviation
 * of about that many CIEDE2000. */
void scene_card_chart24(struct scene *scene, const struct spectrum patch[CHART24_PATCHES], double differs);

/* Plane map from mm on the card to pixels. Origin: outer corner of the first patch, x to the right along its row. */
struct mat3 scene_card_plane(const struct scene *scene);
struct point scene_project(struct mat3 plane, double x_mm, double y_mm);

/* Centre of a patch on the card, mm. */
struct point scene_patch_mm(const struct chart_geometry *geometry, int patch);

/* Outer size of the card with its border, mm. */
struct point scene_card_size_mm(const struct chart_geometry *geometry);

/* Weight of direct and sky light at a place, and the shade there, 0 lit to 1. */
struct scene_weights {
  double direct, sky, shade;
};
struct scene_weights scene_weights_at(const struct scene *scene, struct point place);

/* Share of the second deposit in a pixel whose centre is at `place`. */
double scene_boundary_share(const struct scene_boundary *boundary, struct point place);

/* Whether the outline of the region contains the place. */
bool scene_region_contains(const struct scene_region *region, struct point place);

enum scene_tier { SCENE_CLEAN, SCENE_FIELD, SCENE_HARD };

/* A random scene of the tier.
 *  clean: even light, hardly any noise, plain curve, chart large and straight; card differs from its data sheet by about 0.5.
 *  field: light that changes by up to about 20 % over the frame, vignetting, sky tint, noise, contrast curve, JPEG 85 to 95, card
 *         8 to 25 % of the frame wide anywhere, turned, tilted a little; card differs from its data sheet by about 1.
 *  hard:  field, and one to three of: shadow edge over the face, clipped white patches, glare on patches, blur, veil. */
void scene_random(enum scene_tier tier, uint64_t seed, const struct spectra_source *source,
                  struct scene *scene);

/* A field scene of one deposit, or of two, at least 2.0 CIEDE2000 apart, with a boundary 0 to 15 cm thick; and a line clear of the card,
 * which crosses the boundary between 30 and 70 % of its length, at up to 40 degrees from square. No regions. */
void scene_random_edge(bool boundary, uint64_t seed, const struct spectra_source *source,
                       struct scene *scene);

/* A field scene of two layers that differ by `apart` CIEDE2000; and a field scene with a board, a string across the frame and
 * a scale bar lying on it, deposits with the role "thing". No regions. */
void scene_random_near(double apart, uint64_t seed, const struct spectra_source *source, struct scene *scene);
void scene_random_things(uint64_t seed, const struct spectra_source *source, struct scene *scene);

#endif
