/* SPDX-License-Identifier: MIT */
/* Manual and help say the same as the tables that the options are parsed by. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "cli/commands.h"
#include "suite.h"

static char *document(const char *name)
{
  char path[512];
  struct file_bytes bytes;
  struct error error;

  snprintf(path, sizeof path, "%s/%s", TAWNY_SOURCE_ROOT, name);
  ck_assert_msg(file_read(path, 1 << 20, &bytes, &error), "%s", error.text);
  return (char *)bytes.data;
}

/* Cuts the text at the next heading. */
static void end_section(char *section)
{
  for (char *line = section; (line = strchr(line, '\n')); line++) {
    if (strncmp(line, "\n.Ss ", 5) == 0 || strncmp(line, "\n.Sh ", 5) == 0) {
      *line = '\0';
      return;
    }
  }
}

/* mdoc writes --json as ".Fl -json" and a value behind it as ".Ar FILE". */
START_TEST(the_manual_has_every_option_of_a_command)
{
  const struct command *command = commands_at((size_t)_i);
  char *manual = document("docs/tawny.1"), heading[64], line[160];
  size_t listed = 0, options = 0;

  snprintf(heading, sizeof heading, ".Ss %s\n", command->name);
  char *section = strstr(manual, heading);
  ck_assert_msg(section != NULL, "the manual has no section %s", command->name);
  end_section(section);
  for (const struct option_entry *option = command->option; option->name; option++, options++) {
    snprintf(line, sizeof line, "\n.It Fl -%s%s", option->name, option->value ? " Ar " : "\n");
    ck_assert_msg(strstr(section, line) != NULL, "the manual lacks --%s of %s", option->name, command->name);
  }
  for (char *item = section; (item = strstr(item, "\n.It Fl ")); item++) {
    listed++;
  }
  ck_assert_msg(listed == options, "%s: the manual lists %zu options, the table %zu", command->name, listed,
                options);
  free(manual);
}
END_TEST

START_TEST(the_help_has_every_option_of_a_command)
{
  const struct command *command = commands_at((size_t)_i);
  struct text help = {0};
  char line[160];

  options_help(command, &help);
  for (const struct option_entry *option = command->option; option->name; option++) {
    snprintf(line, sizeof line, "\n  --%s%s%s\n", option->name, option->value ? " " : "",
             option->value ? option->value : "");
    ck_assert_msg(strstr(help.data, line) != NULL, "%s lacks %s", command->name, line);
  }
  text_clear(&help);
}
END_TEST

START_TEST(the_readme_names_every_option_of_a_command)
{
  const struct command *command = commands_at((size_t)_i);
  char *readme = document("README.md"), word[80];

  for (const struct option_entry *option = command->option; option->name; option++) {
    snprintf(word, sizeof word, "--%s", option->name);
    ck_assert_msg(strstr(readme, word) != NULL, "README.md lacks --%s of %s", option->name, command->name);
  }
  free(readme);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("manual");
  TCase *tcase = tcase_create("manual");

  tcase_add_loop_test(tcase, the_manual_has_every_option_of_a_command, 0, COMMANDS);
  tcase_add_loop_test(tcase, the_help_has_every_option_of_a_command, 0, COMMANDS);
  tcase_add_loop_test(tcase, the_readme_names_every_option_of_a_command, 0, COMMANDS);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
