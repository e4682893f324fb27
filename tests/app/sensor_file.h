/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_SENSOR_FILE_H
#define SH_TESTS_APP_SENSOR_FILE_H

#include "app/simulation.h"
#include "sensor/profile.h"

/*
 * What a simulated sensor sends, kept in a file: lines where it has one stream, packets where
 * it has more. All fail the running test where they cannot.
 */

/* Writes all bytes of the session; returns how many lines or packets were spoilt. */
uint64_t sensor_file_write(const struct sh_simulation *simulation,
                           double damaged_ratio,
                           const char *path);

/* A simulation of a set, all its streams on one device; seed 5. To be closed. */
void sensor_file_open_simulation(const char *set,
                                 size_t n_draws,
                                 struct sh_simulation *simulation);

/* Its profile, on the heap. */
struct sh_profile *sensor_file_make_profile(const struct sh_simulation *simulation);

/* Pushes what the sensors would give straight into sink, without bytes and clock. */
void sensor_file_sample(const struct sh_simulation *simulation,
                        const struct sh_block_sink *sink);

#endif
