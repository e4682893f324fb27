/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/secret.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/random.h>

#define CODES       1000000u
#define TOKEN_BYTES 16u

static enum sh_status fill_from_system(void *context, void *bytes, size_t n_bytes)
{
    unsigned char *at = bytes;
    (void)context;
    while (n_bytes > 0) {
        ssize_t n = getrandom(at, n_bytes, 0);
        if (n < 0 && errno != EINTR) {
            return SH_ERR_IO;
        }
        if (n > 0) {
            at += n;
            n_bytes -= (size_t)n;
        }
    }
    return SH_OK;
}

struct sh_secret_source sh_secret_source_default(void)
{
    return (struct sh_secret_source){fill_from_system, NULL};
}

enum sh_status sh_secret_make_code(const struct sh_secret_source *source,
                                   char code[SH_SECRET_CODE_BYTES])
{
    /* Numbers at the top that would make some codes likelier than others are drawn again. */
    const uint32_t end = UINT32_MAX - UINT32_MAX % CODES;
    uint32_t number = 0;
    do {
        enum sh_status status = source->fill(source->context, &number, sizeof number);
        if (status != SH_OK) {
            return status;
        }
    } while (number >= end);
    (void)snprintf(code, SH_SECRET_CODE_BYTES, "%06u", (unsigned)(number % CODES));
    return SH_OK;
}

enum sh_status sh_secret_make_token(const struct sh_secret_source *source,
                                    char token[SH_SECRET_TOKEN_BYTES])
{
    static const char digits[] = "0123456789abcdef";
    unsigned char bytes[TOKEN_BYTES];
    enum sh_status status = source->fill(source->context, bytes, sizeof bytes);
    if (status != SH_OK) {
        return status;
    }
    for (size_t i = 0; i < sizeof bytes; i++) {
        token[2 * i] = digits[bytes[i] >> 4];
        token[2 * i + 1] = digits[bytes[i] & 15];
    }
    token[2 * sizeof bytes] = '\0';
    return SH_OK;
}

bool sh_secret_is_same(const char *secret, const char *given)
{
    const size_t n_secret = strlen(secret);
    const size_t n_given = strlen(given);
    unsigned difference = n_secret != n_given;
    for (size_t i = 0; i < n_given; i++) {
        const char at = n_secret > 0 ? secret[i % n_secret] : '\0';
        difference |= (unsigned)((unsigned char)at ^ (unsigned char)given[i]);
    }
    return difference == 0;
}
