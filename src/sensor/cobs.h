/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_COBS_H
#define SH_SENSOR_COBS_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * Consistent Overhead Byte Stuffing: any bytes as bytes without a zero, so that a zero can end
 * a packet (S. Cheshire and M. Baker, IEEE/ACM Transactions on Networking 7(2), 1999). The zero
 * itself is neither written nor read here. Test: tests/sensor/test_cobs.c.
 */

/* The most bytes that n_bytes can become. */
#define SH_COBS_ENCODED_MAX(n_bytes) ((n_bytes) + (n_bytes) / 254u + 1u)

/*
 * Encodes n_bytes of from into to, which holds SH_COBS_ENCODED_MAX(n_bytes) and does not
 * overlap from. Returns the bytes written. No bytes become the one byte 01. A last group of 254
 * non-zero bytes is written without a trailing 01.
 */
size_t sh_cobs_encode(const uint8_t *from, size_t n_bytes, uint8_t *to);

/*
 * Decodes n_bytes of from into to, which holds n_bytes and may be from itself; *n_decoded is
 * the number of bytes written. Takes a last group of 254 with and without a trailing 01.
 * SH_ERR_FORMAT: nothing at all, a zero inside, or a group that reaches beyond the end.
 */
enum sh_status
sh_cobs_decode(const uint8_t *from, size_t n_bytes, uint8_t *to, size_t *n_decoded);

#endif
