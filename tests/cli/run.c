/* SPDX-License-Identifier: MIT */
#include "run.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

enum { WORDS_MAX = 40 };

static void give_up(const char *what)
{
  perror(what);
  exit(99);
}

/* Cuts `words` in place. */
static void split(char *words, char *argv[WORDS_MAX + 2])
{
  int count = 1;

  while (*words && count <= WORDS_MAX) {
    char end = *words == '\'' ? '\'' : ' ';
    words += end == '\'';
    argv[count++] = words;
    words += strcspn(words, end == '\'' ? "'" : " ");
    if (*words) {
      *words++ = '\0';
    }
    words += end == '\'' && *words == ' ';
  }
  argv[count] = NULL;
}

static void become(const char *folder, char *words, FILE *in, FILE *out, FILE *err)
{
  char *argv[WORDS_MAX + 2] = {getenv("TAWNY_PROGRAM")};

  split(words, argv);
  if (!argv[0] || dup2(fileno(in), 0) < 0 || dup2(fileno(out), 1) < 0 || dup2(fileno(err), 2) < 0 ||
      (folder && chdir(folder) != 0)) {
    _exit(98);
  }
  execv(argv[0], argv);
  _exit(97);
}

static char *contents(FILE *file, size_t *size)
{
  fseek(file, 0, SEEK_END);
  long length = ftell(file);
  char *text = length >= 0 ? calloc(1, (size_t)length + 1) : NULL;

  rewind(file);
  if (!text || fread(text, 1, (size_t)length, file) != (size_t)length) {
    give_up("output of the program");
  }
  *size = (size_t)length;
  fclose(file);
  return text;
}

struct run run_tawny(const char *folder, const char *words, const char *input)
{
  FILE *in = tmpfile(), *out = tmpfile(), *err = tmpfile();
  char *copy = strdup(words);
  struct run run;
  size_t size;
  int state;

  if (!in || !out || !err || !copy || fputs(input, in) < 0 || fflush(in) != 0) {
    give_up("temporary files");
  }
  rewind(in);
  fflush(NULL);
  pid_t child = fork();
  if (child == 0) {
    become(folder, copy, in, out, err);
  }
  if (child < 0 || waitpid(child, &state, 0) != child) {
    give_up("running the program");
  }
  run.status = WIFEXITED(state) ? WEXITSTATUS(state) : 128 + WTERMSIG(state);
  run.out = contents(out, &run.out_size);
  run.err = contents(err, &size);
  fclose(in);
  free(copy);
  return run;
}

void run_clear(struct run *run)
{
  free(run->out);
  free(run->err);
  *run = (struct run){0};
}

const char *run_folder(void)
{
  static char path[64];

  snprintf(path, sizeof path, "/tmp/tawny-test-XXXXXX");
  if (!mkdtemp(path)) {
    give_up("temporary folder");
  }
  return path;
}

const char *run_path(const char *folder, const char *name)
{
  static char path[512];

  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

void run_folder_remove(const char *folder)
{
  DIR *list = opendir(folder);
  struct dirent *entry;

  while (list && (entry = readdir(list))) {
    unlink(run_path(folder, entry->d_name));
  }
  if (list) {
    closedir(list);
  }
  rmdir(folder);
}
