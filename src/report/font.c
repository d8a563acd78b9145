/* SPDX-License-Identifier: MIT */
#include "report/font.h"

/* One string a character from space on, one digit a row, top down: base 32 (0-9 A-V), highest bit left. Where it ends, nothing is below. */
static const char *const GLYPH[] = {
    "0000000",   "4444404",   "AAA0000",   "AAVAVAA", "4FKE5U4", "OP248J3", "CIK8LID",
    "4480000", /*  !"#$%&' */
    "2488842",   "8422248",   "04LEL40",   "044V440", "0000C48", "000V000", "00000CC",
    "01248G0", /* ()*+,-./ */
    "EHJLPHE",   "4C4444E",   "EH1248V",   "V2421HE", "26AIV22", "VGU11HE", "68GUHHE",
    "V124888", /* 01234567 */
    "EHHEHHE",   "EHHF12C",   "0CC0CC0",   "0CC0C48", "248G842", "00V0V00", "8421248",
    "EH12404", /* 89:;<=>? */
    "EH1DLLE",   "EHHVHHH",   "UHHUHHU",   "EHGGGHE", "SIHHHIS", "VGGUGGV", "VGGUGGG",
    "EHGNHHF", /* @ABCDEFG */
    "HHHVHHH",   "E44444E",   "72222IC",   "HIKOKIH", "GGGGGGV", "HRLLHHH", "HHPLJHH",
    "EHHHHHE", /* HIJKLMNO */
    "UHHUGGG",   "EHHHLID",   "UHHUKIH",   "FGGE11U", "V444444", "HHHHHHE", "HHHHHA4",
    "HHHLLLA", /* PQRSTUVW */
    "HHA4AHH",   "HHHA444",   "V1248GV",   "E88888E", "0G84210", "E22222E", "4AH0000",
    "000000V", /* XYZ[\]^_ */
    "8420000",   "00E1FHF",   "GGMPHHU",   "00EGGHE", "11DJHHF", "00EHVGE", "698S888",
    "00FHHHF1E", /* `abcdefg */
    "GGMPHHH",   "40C444E",   "2062222IC", "GGIKOKI", "C44444E", "00QLLHH", "00MPHHH",
    "00EHHHE", /* hijklmno */
    "00UHHHUGG", "00FHHHF11", "00MPGGG",   "00EGE1U", "88S8896", "00HHHJD", "00HHHA4",
    "00HHLLA",                                                                         /* pqrstuvw */
    "00HA4AH",   "00HHHHF1E", "00V248V",   "2448442", "4444444", "8442448", "008L200", /* xyz{|}~  */
};

static bool continues(char c)
{
  return ((unsigned char)c & 0xc0) == 0x80;
}

char font_next(const char **text)
{
  char first = *(*text)++;

  while (continues(**text)) {
    (*text)++;
  }
  return first >= 0x20 && first < 0x7f ? first : '?';
}

size_t font_length(const char *text)
{
  size_t length = 0;

  while (*text) {
    font_next(&text);
    length++;
  }
  return length;
}

bool font_dot(char character, int column, int row)
{
  const char *glyph = GLYPH[character - ' '];
  char digit = row < FONT_HEIGHT || glyph[FONT_HEIGHT] ? glyph[row] : '0';
  int bits = digit <= '9' ? digit - '0' : digit - 'A' + 10;

  return bits >> (FONT_WIDTH - 1 - column) & 1;
}
