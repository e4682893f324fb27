/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_FUZZ_FUZZ_H
#define SH_TESTS_FUZZ_FUZZ_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

/* What libFuzzer, or replay.c, calls with each input. Answers 0. */
/* NOLINTNEXTLINE(readability-identifier-naming): libFuzzer's name */
int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes);

/* Ends the program, as a crash would, where something that always holds does not. */
#define SH_FUZZ_CHECK(condition) sh_fuzz_check((condition), #condition, __FILE__, __LINE__)

static inline void sh_fuzz_check(bool holds, const char *condition, const char *file, int line)
{
    if (!holds) {
        (void)fprintf(stderr, "%s:%d: %s\n", file, line, condition);
        abort();
    }
}

#endif
