/* SPDX-License-Identifier: MIT */
/* judge_light FOLDER TIER FIRST LAST [v]
 *
 * Holds light_gain at the regions of rendered scenes against the light that was put in. Pictures FOLDER/TIER-SEED.jpg or .png as
 * render_scene writes them are read where present, else rendered. The card is placed by the truth. Prints, for lit and
 * for shaded regions, root mean square errors of log gain by channel, of the best field and without correction, and how
 * often the stated 95 % interval holds. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "image/blocks.h"
#include "light/light.h"
#include "render.h"
#include "truth.h"

struct sums {
  double square[3], tint[2], plain, covered[3], z2[3];
  size_t count;
};

struct run {
  struct sums lit, shaded;
  size_t scenes, edges, edges_found, edges_invented, failed;
  bool verbose;
  const char *folder, *tier;
};

static bool load(const struct run *run, const struct scene *scene, uint64_t seed, struct image *image,
                 struct error *error)
{
  char path[512];
  struct file_bytes file = {0};

  snprintf(path, sizeof path, "%s/%s-%llu.%s", run->folder, run->tier, (unsigned long long)seed,
           scene->file.jpeg_quality ? "jpg" : "png");
  bool done = (file_read(path, IMAGE_FILE_MAX, &file, error) || render_file(scene, &file, error)) &&
              image_decode(&file, path, image, error);
  file_bytes_clear(&file);
  return done;
}

static void fill(const struct card_reference *card, const struct card_patches *patches,
                 const struct light *light, struct profile_sample *sample)
{
  size_t lit = 0;

  for (size_t i = 0; light && i < patches->count; i++) {
    lit += light_side_at(light, patches->view[i].centre) == LIGHT_AS_CARD;
  }
  for (size_t i = 0; i < patches->count; i++) {
    const struct card_patch_view *view = &patches->view[i];
    enum card_cause cause = view->cause;
    if (light && 2 * lit >= patches->count && cause == CARD_USED &&
        light_side_at(light, view->centre) != LIGHT_AS_CARD) {
      cause = CARD_SHADED;
    }
    sample[i] =
        (struct profile_sample){.linear = view->linear,
                                .gain = light ? light_gain(light, view->centre) : (struct vec3){{1, 1, 1}},
                                .noise = view->covariance,
                                .place = view->centre,
                                .reference_d50 = card->patch[i].lab_d50,
                                .tolerance = card->patch[i].tolerance,
                                .grey = card->patch[i].grey,
                                .cause = cause};
  }
}

static bool estimate(const struct image *image, const struct truth *truth, struct light *light,
                     struct error *error)
{
  struct encoding encoding;
  struct card_list cards = {0};
  struct card_pose pose;
  struct card_patches patches = {0};
  struct image_blocks blocks = {0};
  struct profile profile, best = {0};
  static struct profile_sample sample[CARD_PATCHES_MAX];
  size_t card = 0;
  double evidence = -INFINITY;
  struct point corner[4];

  memcpy(corner, truth->corner, sizeof corner);
  bool done = encoding_of_image(image, "", &encoding, error) && card_list_open("chart24", &cards, error) &&
              card_pose_from_corners(&cards.card[0], corner, &pose, error) &&
              card_patches_read(image, &encoding, &cards.card[0], &pose, &patches, error) &&
              image_blocks_make(image, 8, &blocks, error);
  for (size_t i = 0; done && i < cards.count; i++) {
    fill(&cards.card[i], &patches, NULL, sample);
    done = profile_fit(&encoding, PROFILE_SLOPE_UNKNOWN, sample, patches.count, &profile, error);
    if (done && profile.evidence > evidence) {
      evidence = profile.evidence;
      best = profile;
      card = i;
    }
  }
  for (int pass = 0; done && pass < 3; pass++) {
    done = light_estimate(&blocks, &best, &cards.card[card], &pose, &patches, light, error);
    if (done && pass < 2) {
      fill(&cards.card[card], &patches, light, sample);
      done = profile_fit(&encoding, PROFILE_SLOPE_ESTIMATED, sample, patches.count, &best, error);
    }
  }
  image_blocks_clear(&blocks);
  card_patches_clear(&patches);
  card_list_clear(&cards);
  return done;
}

static double variance_at(const struct light *light, struct point place, int k)
{
  double jacobian[3][LIGHT_TERMS], sum = 0;

  light_jacobian(light, place, jacobian);
  for (int i = 0; i < LIGHT_TERMS; i++) {
    for (int j = 0; j < LIGHT_TERMS; j++) {
      sum += jacobian[k][i] * light->covariance[i][j] * jacobian[k][j];
    }
  }
  return sum;
}

static struct point middle_of(const struct scene_region *region)
{
  struct point sum = {0, 0};

  for (int i = 0; i < region->vertices; i++) {
    sum.x += region->vertex[i].x / region->vertices;
    sum.y += region->vertex[i].y / region->vertices;
  }
  return sum;
}

static void score(struct run *run, uint64_t seed, const struct light *light,
                  const struct truth_region *region, struct sums *sums)
{
  struct point place = middle_of(region->region);
  struct vec3 gain = light_gain(light, place);
  double off[3], sd[3];

  for (int k = 0; k < 3; k++) {
    off[k] = log(gain.v[k] / region->camera_gain.v[k]);
    sd[k] = sqrt(variance_at(light, place, k));
    sums->square[k] += off[k] * off[k];
    sums->z2[k] += off[k] * off[k] / (sd[k] * sd[k] + 1e-12);
    sums->covered[k] += fabs(off[k]) <= 1.96 * sd[k];
  }
  sums->tint[0] += (off[0] - off[1]) * (off[0] - off[1]);
  sums->tint[1] += (off[2] - off[1]) * (off[2] - off[1]);
  sums->plain += log(region->camera_gain.v[1]) * log(region->camera_gain.v[1]);
  sums->count++;
  if (run->verbose) {
    printf("%s-%llu %s %d side %d true %.3f off %.3f %.3f %.3f sd %.3f %.3f %.3f disagree %.2f\n", run->tier,
           (unsigned long long)seed, region->region->label, region->light, light_side_at(light, place),
           log(region->camera_gain.v[1]), off[0], off[1], off[2], sd[0], sd[1], sd[2], light->disagreement);
  }
}

static bool has_edge(const struct truth *truth)
{
  int shaded = 0;

  for (int i = 0; i < truth->regions; i++) {
    shaded += truth->region[i].light != TRUTH_LIT;
  }
  return truth->card_light == TRUTH_EDGE || (shaded > 0 && shaded < truth->regions);
}

/* With an edge over the card the gain at its middle is neither of its sides'. Errors are then held against the mean of those
 * on the card's side. */
static void refer_to_card_side(const struct light *light, struct truth *truth)
{
  struct vec3 sum = {{0, 0, 0}};
  int count = 0;

  if (truth->card_light != TRUTH_EDGE) {
    return;
  }
  for (int i = 0; i < truth->regions; i++) {
    struct point place = middle_of(truth->region[i].region);
    struct vec3 gain = light_gain(light, place);
    if (truth->region[i].light != TRUTH_EDGE && light_side_at(light, place) == LIGHT_AS_CARD) {
      for (int k = 0; k < 3; k++) {
        sum.v[k] += log(gain.v[k] / truth->region[i].camera_gain.v[k]);
      }
      count++;
    }
  }
  for (int i = 0; i < truth->regions; i++) {
    for (int k = 0; count && k < 3; k++) {
      truth->region[i].camera_gain.v[k] *= exp(sum.v[k] / count);
    }
  }
}

static void judge(struct run *run, const struct spectra_source *source, enum scene_tier tier, uint64_t seed)
{
  static struct scene scene;
  static struct truth truth;
  struct image image = {0};
  struct light light = {0};
  struct error error = {0};

  scene_random(tier, seed, source, &scene);
  truth_of_scene(&scene, &truth);
  if (!load(run, &scene, seed, &image, &error) || !estimate(&image, &truth, &light, &error)) {
    run->failed++;
    printf("%s-%llu: %s\n", run->tier, (unsigned long long)seed, error.text);
  } else {
    bool edge = has_edge(&truth);
    refer_to_card_side(&light, &truth);
    run->scenes++;
    run->edges += edge;
    run->edges_found += edge && light.shadow_edge;
    run->edges_invented += scene.light.edges == 0 && light.shadow_edge;
    if (run->verbose && scene.light.edges) {
      printf("%s-%llu edge %d card %d found %d over %d at %.0f %.0f %.0f deg soft %.0f depth %.2f; said %.0f "
             "%.0f %.0f half %.0f\n",
             run->tier, (unsigned long long)seed, edge, truth.card_light, light.shadow_edge,
             light.shadow_over_card, scene.light.edge[0].place.x, scene.light.edge[0].place.y,
             scene.light.edge[0].degrees, scene.light.edge[0].softness, scene.light.depth, light.edge.place.x,
             light.edge.place.y, atan2(light.edge.normal.y, light.edge.normal.x) * 57.29578, light.edge.half);
    }
    for (int i = 0; i < truth.regions; i++) {
      if (truth.region[i].light != TRUTH_EDGE) {
        score(run, seed, &light, &truth.region[i],
              truth.region[i].light == TRUTH_LIT && (truth.card_light != TRUTH_SHADED) ? &run->lit
                                                                                       : &run->shaded);
      }
    }
  }
  image_clear(&image);
}

static double root(double sum, size_t count)
{
  return 100 * sqrt(sum / fmax((double)count, 1));
}

static void print(const char *name, const struct sums *s)
{
  double n = fmax((double)s->count, 1);

  printf("%s: %zu regions, rms %% off R %.2f G %.2f B %.2f, R/G %.2f B/G %.2f; uncorrected %.2f; covered "
         "%.1f %.1f %.1f "
         "%%; rms z %.2f %.2f %.2f\n",
         name, s->count, root(s->square[0], s->count), root(s->square[1], s->count),
         root(s->square[2], s->count), root(s->tint[0], s->count), root(s->tint[1], s->count),
         root(s->plain, s->count), 100 * s->covered[0] / n, 100 * s->covered[1] / n, 100 * s->covered[2] / n,
         sqrt(s->z2[0] / n), sqrt(s->z2[1] / n), sqrt(s->z2[2] / n));
}

int main(int argc, char **argv)
{
  static struct spectra_source source;
  struct run run = {.verbose = argc > 5};
  struct error error = {0};

  if (argc < 5 || !source_made(&source, &error)) {
    fprintf(stderr, "usage: judge_light FOLDER clean|field|hard FIRST LAST [v]\n");
    return 2;
  }
  run.folder = argv[1];
  run.tier = argv[2];
  enum scene_tier tier = argv[2][0] == 'c' ? SCENE_CLEAN : argv[2][0] == 'f' ? SCENE_FIELD : SCENE_HARD;
  for (uint64_t seed = strtoull(argv[3], NULL, 10); seed <= strtoull(argv[4], NULL, 10); seed++) {
    judge(&run, &source, tier, seed);
  }
  printf("%s: %zu scenes, %zu failed; edges %zu, found %zu, invented %zu\n", run.tier, run.scenes, run.failed,
         run.edges, run.edges_found, run.edges_invented);
  print("lit", &run.lit);
  print("shaded", &run.shaded);
  source_clear(&source);
  return 0;
}
