/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_CLICKER_H
#define SH_SHOT_CLICKER_H

#include <stddef.h>

#include "shot/shot.h"

/*
 * When the clicker fell: docs/definitions.md. The contact's opening, else the blow in the
 * acceleration, else its sound; never the strip that falls with the departing arrow.
 * Any thread. Test: tests/shot/test_clicker.c.
 */
#define SH_CLICKER_PROBABILITY_MIN 0.9
#define SH_CLICKER_GUARD_S         0.001 /* before the release, and */
#define SH_CLICKER_GUARD_U         1.5   /* this many of its standard uncertainties */
#define SH_CLICKER_BACK_S          1.0   /* searched before the release without a full draw */
#define SH_CLICKER_CLOSED_S        0.05  /* the contact was closed at least so long before */
#define SH_CLICKER_BOUNCE_S        0.02  /* an opening shorter than this is a bounce */

/* Slower acceleration is filtered off: tremor, motion and the bow's slow modes. */
#define SH_CLICKER_ACCELERATION_CORNER_HZ 150.0
#define SH_CLICKER_SOUND_CORNER_HZ        300.0 /* and of the sound: voices, wind */

/* Others' clickers that are heard: of two neighbours who shoot every forty seconds. */
#define SH_CLICKER_FOREIGN_PER_S 0.05

/* Probability that a clicker falls in a shot, before anybody looked. */
#define SH_CLICKER_PRIOR_YES     0.9 /* the bow has one */
#define SH_CLICKER_PRIOR_UNKNOWN 0.5

struct sh_clicker_config {
    double prior;  /* 0: the bow has none */
    double *work;  /* [n_work], lent */
    size_t n_work; /* at least four times the frames of the longest stream */
};

/*
 * Looks for the clicker between full draw (or draw start, or SH_CLICKER_BACK_S before) and
 * release or let-down. Sets shot's event_s[SH_EVENT_CLICKER], clicker_sensor,
 * clicker_probability and strip. Unknown where there is no channel (SH_WHY_NO_CHANNEL), no
 * clicker (SH_WHY_NOT_APPLICABLE), no release or let-down to look before (their own why),
 * where it was not seen (SH_WHY_NOT_SEEN: a contact closed throughout, or a probability below
 * SH_CLICKER_PROBABILITY_MIN), and as sh_blow_find.
 * After a let-down only a contact counts (without one SH_WHY_NOT_APPLICABLE): a strip that is
 * taken off by hand sounds the same.
 * Cost: that of sh_blow_find.
 */
void sh_clicker_find(const struct sh_clicker_config *config,
                     const struct sh_shot_view *view,
                     struct sh_shot *shot);

/* The span in which the clicker is looked for; false where there is none. */
bool sh_clicker_get_span(const struct sh_shot *shot, double *from_s, double *until_s);

#endif
