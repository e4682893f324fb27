/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SIMULATED_PORT_H
#define SH_APP_SIMULATED_PORT_H

#include "app/simulation.h"

/*
 * A sensor that is not there, behind a pseudo-terminal: whoever opens it gets the bytes that
 * the sensor would send, at the pace at which it would send them.
 */

struct sh_simulated_port_config {
    const char *link; /* a symbolic link to the terminal is made here; NULL: none */
    double speed;     /* seconds of the session a second, above 0 */
    double wait_s;    /* how long somebody is waited for */
};

/*
 * Opens a pseudo-terminal, prints its path on standard output, waits until somebody reads from
 * it, sends the whole session and hangs up. A reader who is slow is waited for; one who goes
 * away ends it (SH_OK). SH_ERR_NOT_FOUND: nobody came; SH_ERR_EXISTS (link), SH_ERR_IO,
 * SH_ERR_MEMORY, and what the sampler and the framing give.
 */
enum sh_status sh_simulated_port_run(const struct sh_simulation *simulation,
                                     const struct sh_simulated_port_config *config,
                                     struct sh_error *err);

#endif
