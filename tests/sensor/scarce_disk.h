/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SENSOR_SCARCE_DISK_H
#define SH_TESTS_SENSOR_SCARCE_DISK_H

#include <stddef.h>

/*
 * A disk that is full when a test wants it to be: the linker sends write, fsync and rename of
 * the program here (--wrap). A write takes a hundred bytes at most, so that a file takes
 * several. For one thread.
 */

/* From now on the call after n_before others fails with ENOSPC, no other; until now. */
void scarce_disk_begin(size_t n_before);
void scarce_disk_end(void);

#endif
