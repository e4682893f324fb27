/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SECRET_H
#define SH_LIVE_SECRET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Numbers and words that nobody can guess, and comparing them without telling how far one came.
 * Test: tests/live/test_gate.c.
 */

/* Where random bytes come from: fills bytes [n_bytes]. */
struct sh_secret_source {
    enum sh_status (*fill)(void *context, void *bytes, size_t n_bytes);
    void *context;
};

/* The system's own generator (getrandom(2)). Its status: SH_ERR_IO. */
struct sh_secret_source sh_secret_source_default(void);

#define SH_SECRET_CODE_BYTES  7u  /* six digits, NUL */
#define SH_SECRET_TOKEN_BYTES 33u /* 128 bits in hexadecimal, NUL */

/* A code of six digits, each as likely as the others. The source's status. */
enum sh_status sh_secret_make_code(const struct sh_secret_source *source,
                                   char code[SH_SECRET_CODE_BYTES]);

/* A token of 128 bits. The source's status. */
enum sh_status sh_secret_make_token(const struct sh_secret_source *source,
                                    char token[SH_SECRET_TOKEN_BYTES]);

/* Are they the same? The time it takes depends on the length of given alone. */
bool sh_secret_is_same(const char *secret, const char *given);

#endif
