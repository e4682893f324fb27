/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/cobs.h"

#define FULL_GROUP 0xFFu /* code of 254 bytes that no zero follows */

size_t sh_cobs_encode(const uint8_t *from, size_t n_bytes, uint8_t *to)
{
    size_t code_at = 0;
    size_t n_written = 1;
    uint8_t code = 1;
    for (size_t i = 0; i < n_bytes; i++) {
        if (from[i] != 0) {
            to[n_written++] = from[i];
            code++;
        }
        if (from[i] == 0 || (code == FULL_GROUP && i + 1 < n_bytes)) {
            to[code_at] = code;
            code_at = n_written++;
            code = 1;
        }
    }
    to[code_at] = code;
    return n_written;
}

enum sh_status
sh_cobs_decode(const uint8_t *from, size_t n_bytes, uint8_t *to, size_t *n_decoded)
{
    size_t n_read = 0;
    size_t n_written = 0;
    if (n_bytes == 0) {
        return SH_ERR_FORMAT;
    }
    while (n_read < n_bytes) {
        uint8_t code = from[n_read++];
        if (code == 0 || (size_t)(code - 1) > n_bytes - n_read) {
            return SH_ERR_FORMAT;
        }
        for (uint8_t k = 1; k < code; k++) {
            if (from[n_read] == 0) {
                return SH_ERR_FORMAT;
            }
            to[n_written++] = from[n_read++];
        }
        if (code != FULL_GROUP && n_read < n_bytes) {
            to[n_written++] = 0;
        }
    }
    *n_decoded = n_written;
    return SH_OK;
}
