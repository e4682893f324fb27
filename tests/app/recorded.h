/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_RECORDED_H
#define SH_TESTS_APP_RECORDED_H

#include "app/simulation.h"

/*
 * Writes the recording of a simulated evening into folder, as `simulate --out` would. Fails the
 * running test where it cannot.
 */
void recorded_write(const struct sh_simulation_config *config, const char *folder);

#endif
