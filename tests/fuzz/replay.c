/* SPDX-License-Identifier: MIT */
/* A plain main for a fuzz target: gives it every file of the folders named, so that each test run replays the corpus. */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "fuzz.h"

enum { INPUT_MAX = 1000000 };

/* The bytes in a block of their own size, where a sanitizer sees the first step outside. */
static void replay(const struct file_bytes *file)
{
  uint8_t *input = malloc(file->size ? file->size : 1);

  if (!input) {
    abort();
  }
  memcpy(input, file->data, file->size);
  LLVMFuzzerTestOneInput(input, file->size);
  free(input);
}

/* Returns the number of files; -1 where the folder can't be read. */
static int replay_folder(const char *folder)
{
  struct dirent **entries;
  int count = scandir(folder, &entries, NULL, alphasort), files = 0;

  for (int i = 0; i < count; i++) {
    char path[1024];
    struct file_bytes file;
    struct error error;
    snprintf(path, sizeof path, "%s/%s", folder, entries[i]->d_name);
    if (entries[i]->d_name[0] != '.' && file_read(path, INPUT_MAX, &file, &error)) {
      replay(&file);
      file_bytes_clear(&file);
      files++;
    }
    free(entries[i]);
  }
  if (count >= 0) {
    free(entries);
  }
  return count < 0 ? -1 : files;
}

int main(int count, char **folders)
{
  for (int i = 1; i < count; i++) {
    int files = replay_folder(folders[i]);
    printf("%s: %d files replayed\n", folders[i], files);
    if (files <= 0) {
      return 1;
    }
  }
  return count < 2;
}
