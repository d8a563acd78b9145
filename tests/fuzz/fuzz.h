/* SPDX-License-Identifier: MIT */
/* What every fuzz target offers; the name is libFuzzer's. Returns 0; a fault is a crash. */
#ifndef TAWNY_TESTS_FUZZ_H
#define TAWNY_TESTS_FUZZ_H

#include <stddef.h>
#include <stdint.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
