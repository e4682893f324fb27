/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CLICK_LEARNER_H
#define SH_APP_CLICK_LEARNER_H

#include "recording/session.h"
#include "shot/click_template.h"

/*
 * What the first pass teaches the second about this archer's clicker: the shape of its blow in
 * the bow's acceleration or in the sound (shot/click_template.h), with the memory that learning
 * needs.
 * Test: tests/app/test_click_learner.c.
 */
struct sh_click_learner {
    struct sh_click_template *click; /* owned; NULL where nothing feels or hears the bow */
    double *work;                    /* owned */
};

/*
 * Opens it for the streams of a session; without an acceleration or a sound among them it
 * learns nothing. SH_ERR_MEMORY. Close it whatever comes back.
 */
enum sh_status sh_click_learner_open(struct sh_click_learner *learner,
                                     const struct sh_session *session,
                                     struct sh_error *err);

/* Frees what it owns. Takes a closed or zeroed learner. */
void sh_click_learner_close(struct sh_click_learner *learner);

/* Learns from a shot with its view. */
void sh_click_learner_learn(struct sh_click_learner *learner,
                            const struct sh_shot_view *view,
                            const struct sh_shot *shot);

/* The shape of all that was learnt, borrowed until the learner is closed; NULL: there is none.
 */
const struct sh_click_template *sh_click_learner_finish(struct sh_click_learner *learner);

#endif
