/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef STRINGHAND_RESULT_H
#define STRINGHAND_RESULT_H

#include <stddef.h>

/*
 * The shots of a recording with all that was measured, for programs outside. Link with what
 * `pkg-config --libs stringhand` says. A value is asked for by the keys of
 * docs/machine-output.md and is the same to the bit as what `stringhand analyze --format json`
 * prints. Any thread, one result each. Test of all: tests/outside/test_result.c, which sees no
 * other header of the project.
 */

#ifdef __cplusplus
extern "C" {
#endif

struct sh_result;

#define SH_RESULT_MESSAGE_BYTES 1024

/*
 * Analyses the recording in folder, both passes, default thresholds, no history, and gives
 * *out, to be closed with sh_result_close. 0, or -1 with one line in message (what, where, what
 * to do) and *out untouched. message may be NULL. Cost: about an hour of four channels at 1000
 * Hz in two seconds.
 */
int sh_result_open(const char *folder,
                   struct sh_result **out,
                   char message[SH_RESULT_MESSAGE_BYTES]);

/* Frees the result and sets *result to NULL. Takes NULL inside. */
void sh_result_close(struct sh_result **result);

/* Number of draws, let-downs and unresolved ones among them. */
size_t sh_result_get_n_shots(const struct sh_result *result);

/* "shot", "let-down" or "unresolved"; NULL where there is no shot of that index (from 0).
 * Static.
 */
const char *sh_result_get_kind(const struct sh_result *result, size_t shot);

/*
 * Looks a number up by its key: "release_s", "hold_time_u_s", "creep_lo_n"; part of a list by
 * "finger_share_1" to "_3", "tremor_band_u_n_4". 1 and *value; 0 where it is unknown; -1 where
 * there is no such shot or key, *value untouched in both. SI units.
 */
int sh_result_find_value(const struct sh_result *result,
                         size_t shot,
                         const char *key,
                         double *value);

/* Number of findings of a shot; 0 where there is no such shot. */
size_t sh_result_get_n_findings(const struct sh_result *result, size_t shot);

/* Code and sentence of a finding; NULL where there is none of that index. The result's own. */
const char *
sh_result_get_finding_code(const struct sh_result *result, size_t shot, size_t finding);
const char *
sh_result_get_finding_text(const struct sh_result *result, size_t shot, size_t finding);

/* The version of the program that makes the figures: "0.1.0". Static. */
const char *sh_result_get_version(void);

#ifdef __cplusplus
}
#endif

#endif
