/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/percent.h"

#define CODE_BYTES 3u /* "%20" */

static bool is_plain(unsigned char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || byte == '-' || byte == '.' || byte == '_';
}

bool sh_percent_encode(const char *name, char *out, size_t n_bytes)
{
    static const char digits[] = "0123456789ABCDEF";
    size_t n = 0;
    for (const char *at = name; *at != '\0'; at++) {
        unsigned char byte = (unsigned char)*at;
        bool is_as_is = is_plain(byte) && !(at == name && byte == '.');
        if (n + (is_as_is ? 1u : CODE_BYTES) >= n_bytes) {
            out[0] = '\0';
            return false;
        }
        if (is_as_is) {
            out[n++] = *at;
        } else {
            out[n++] = '%';
            out[n++] = digits[byte / 16u];
            out[n++] = digits[byte % 16u];
        }
    }
    out[n] = '\0';
    return true;
}
