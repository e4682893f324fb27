/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_APP_SHELVED_H
#define SH_TESTS_APP_SHELVED_H

#include <jansson.h>

#include "app/shelf.h"
#include "app/simulation.h"
#include "recording/scratch.h"

/* A shelf and the recordings on it, in one home. All fail the running test where they cannot.
 */

struct shelved {
    struct scratch scratch; /* the home */
    struct sh_shelf *shelf;
};

/* With an empty shelf; instead of the shelf that is there another empty one. */
void shelved_open(struct shelved *shelved);
void shelved_reopen(struct shelved *shelved);
void shelved_close(struct shelved *shelved);

/* Records a simulated evening under a name and puts it on the shelf: its id and path. */
unsigned shelved_add(struct shelved *shelved,
                     const struct sh_simulation_config *config,
                     const char *name,
                     char folder[SCRATCH_PATH_BYTES]);

/* The answer to a path below /api/, its status checked. The caller gives it back. */
json_t *
shelved_ask(const struct shelved *shelved, const char *path, const char *query, int status);

#endif
