/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/digest.h"

#include <inttypes.h>
#include <stdio.h>

#define FNV_PRIME UINT64_C(0x00000100000001b3)

uint64_t sh_digest_push(uint64_t digest, const void *bytes, size_t n_bytes)
{
    const unsigned char *byte = bytes;
    for (size_t i = 0; i < n_bytes; i++) {
        digest = (digest ^ byte[i]) * FNV_PRIME;
    }
    return digest;
}

void sh_digest_format(uint64_t digest, char text[SH_DIGEST_TEXT_BYTES])
{
    (void)snprintf(text, SH_DIGEST_TEXT_BYTES, "%016" PRIx64, digest);
}
