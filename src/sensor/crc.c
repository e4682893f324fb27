/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/crc.h"

#define POLYNOMIAL 0x1021u
#define START      0xFFFFu
#define TOP_BIT    0x8000u

uint16_t sh_crc_ccitt_false(const uint8_t *bytes, size_t n_bytes)
{
    uint32_t crc = START;
    for (size_t i = 0; i < n_bytes; i++) {
        crc ^= (uint32_t)bytes[i] << 8;
        for (int bit = 0; bit < 8; bit++) {
            uint32_t shifted = crc << 1;
            crc = (crc & TOP_BIT) != 0 ? shifted ^ POLYNOMIAL : shifted;
        }
        crc &= 0xFFFFu;
    }
    return (uint16_t)crc;
}
