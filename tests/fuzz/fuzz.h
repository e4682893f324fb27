/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FUZZ_FUZZ_H
#define SH_TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/* What libFuzzer, or replay.c, calls with each input. Answers 0. */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes);

/* Ends the program, as a crash would, where something that always holds does not. */
#define SH_FUZZ_CHECK(condition)                                                               \
    do {                                                                                       \
        if (!(condition)) {                                                                    \
            (void)fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #condition);              \
            abort();                                                                           \
        }                                                                                      \
    } while (0)

#endif
