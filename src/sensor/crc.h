/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_CRC_H
#define SH_SENSOR_CRC_H

#include <stddef.h>
#include <stdint.h>

/*
 * CRC-16/CCITT-FALSE of n_bytes at bytes: polynomial 0x1021, start 0xFFFF, nothing reflected or
 * inverted. "123456789" gives 0x29B1 (the catalogue's check value). n_bytes may be 0 (0xFFFF).
 * Eight steps a byte. Test: tests/sensor/test_crc.c.
 */
uint16_t sh_crc_ccitt_false(const uint8_t *bytes, size_t n_bytes);

#endif
