/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_CLICK_TEMPLATE_H
#define SH_SHOT_CLICK_TEMPLATE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "shot/shot.h"

/*
 * What one archer's clicker looks like in the acceleration of her bow, or where that is not
 * there in a microphone's sound, learnt over a session,
 * and how it sharpens the second pass: the time of the blow by its shape, the probability by
 * shape and strength, and the evidence that there was no blow where one would have been seen.
 *
 * Learning keeps the blows of the first pass that were all but certain; finishing takes the one
 * that is most like all others, lines the others up with it and averages those that are like
 * it. A matched filter then gives at each frame how much of that shape is there.
 *
 * How sure: were there no blow, the logarithm of the largest amount over the next one would be
 * exponential as in shot/blow.h; a blow's is normal as those that were learnt are, wider where
 * few of them tell how they spread (Student's t). In the sound
 * another's clicker is the third case: as strong as it likes and at any time (shot/blow.h).
 *
 * A sound is one's own by being the usual one: what at least half of the session's shots have
 * alike in the time of reactions before the release. Otherwise there is no template of it.
 *
 * The object holds memory for SH_CLICK_TEMPLATE_CLICKS_MAX blows; when it is full, further ones
 * are not kept. One thread while learning; any number once finished, each with its own work.
 * Test: tests/shot/test_click_template.c.
 */
struct sh_click_template;

#define SH_CLICK_TEMPLATE_CLICKS_MAX 48u
#define SH_CLICK_TEMPLATE_CLICKS_MIN 3u /* alike; fewer do not make a template */
#define SH_CLICK_TEMPLATE_AXES_MAX   3u
#define SH_CLICK_TEMPLATE_FRAMES_MAX 768u /* a blow at 48 kHz */
#define SH_CLICK_TEMPLATE_BEFORE_S   0.002
#define SH_CLICK_TEMPLATE_LENGTH_S   0.016
#define SH_CLICK_TEMPLATE_LEARN_MIN  0.99 /* probability of a blow that is learnt from */
#define SH_CLICK_TEMPLATE_ALIKE      0.7  /* correlation of blows that belong together */

/* Opens an empty one. SH_ERR_MEMORY. Gives *out, to be closed. */
enum sh_status sh_click_template_open(struct sh_click_template **out, struct sh_error *err);

/* Closes and sets *template to NULL; takes NULL and a pointer to NULL. */
void sh_click_template_close(struct sh_click_template **click);

/*
 * Keeps the blow of a shot whose clicker was seen in the acceleration with
 * SH_CLICK_TEMPLATE_LEARN_MIN or more, or was heard with SH_CLICKER_PROBABILITY_MIN or more;
 * others are passed over, and shots of another sensor, stream or rate than the first one's. Has
 * to be given all shots of a session: of the heard ones it counts how usual they are. work: [2
 * * frames of the longest stream], lent.
 */
void sh_click_template_learn(struct sh_click_template *click,
                             const struct sh_shot_view *view,
                             const struct sh_shot *shot,
                             double *work);

/*
 * Makes the template of what was kept. May be called again after more was learnt.
 * Cost: some million operations.
 */
void sh_click_template_finish(struct sh_click_template *click);

/* Number of blows the template rests on; 0: there is none, and refining does nothing. */
size_t sh_click_template_get_count(const struct sh_click_template *click);

/*
 * Looks again for the clicker of a shot, with the template: sets time, probability, sensor and
 * strip of a shot whose clicker is not settled by a contact. SH_STRIP_NO_BLOW where the weakest
 * blow but 0.5 % of this archer's would have stood out of all that was there (so that it would
 * have been seen with probability .995). Leaves the shot alone without a template, for
 * let-downs, where samples were lost, and where sh_clicker_get_span has no span.
 * prior: as in sh_clicker_config. work: [2 * frames of the longest stream], lent.
 * Cost: frames of the span times those of the template.
 */
void sh_click_template_refine(const struct sh_click_template *click,
                              const struct sh_shot_view *view,
                              double prior,
                              double *work,
                              struct sh_shot *shot);

#endif
