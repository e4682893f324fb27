/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_DIGEST_H
#define SH_BASE_DIGEST_H

#include <stddef.h>
#include <stdint.h>

/*
 * A 64-bit digest of bytes by which things are told apart: FNV-1a (Fowler, Noll and Vo; IETF
 * draft-eastlake-fnv). Not for secrets: whoever wants two things of the same digest can make
 * them. Among 10,000 things two share one by chance with probability 3e-12. Any thread.
 * Test: tests/base/test_digest.c, with the draft's own vectors.
 */

/* Of no bytes at all. */
#define SH_DIGEST_EMPTY UINT64_C(0xcbf29ce484222325)

/* The digest of what digest stands for with n_bytes behind it. */
uint64_t sh_digest_push(uint64_t digest, const void *bytes, size_t n_bytes);

#define SH_DIGEST_TEXT_BYTES 17u

/* Writes 16 hexadecimal digits. */
void sh_digest_format(uint64_t digest, char text[SH_DIGEST_TEXT_BYTES]);

#endif
