/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_TRUTH_JSON_H
#define SH_SIM_TRUTH_JSON_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "sim/truth.h"

/*
 * truth.json of a simulated recording: what truly happened, in SI units, with the contract's
 * keys, null where a figure does not apply.
 *
 *     {"format": "stringhand-truth", "version": 1, "seed": "1", "duration_s": 300.5,
 *      "draws": [{"n": 1, "kind": "shot", "faults": ["creep"],
 *                 "put_in": {"expansion_m": 0.004, "creep_m": 0.009, ...},
 *                 "events": {"draw_start_s": 20.1, ..., "clicker_s": 24.871,
 *                            "clicker_acceleration_s": 24.875, "clicker_sound_s": 24.877},
 *                 "measures": {"hold_time_s": 3.6, ..., "finger_share": [0.41, 0.40, 0.19]}}]}
 *
 * clicker_s is the contact's; the seed is text, as it may be beyond 2^53. What was put in
 * (travel given away by the archer) is not what the contract measures.
 * Test: tests/sim/test_truth_json.c.
 */

struct sh_truth_set {
    uint64_t seed;
    double duration_s;
    size_t n_truths;
    struct sh_truth *truth; /* [n_truths]; write borrows them, close frees those of read */
};

/*
 * Replaces path whole with the set. The same set gives the same bytes. SH_ERR_MEMORY,
 * SH_ERR_NOT_FINITE: a figure is no number; statuses of sh_atomic_file_write.
 */
enum sh_status
sh_truth_json_write(const char *path, const struct sh_truth_set *set, struct sh_error *err);

/*
 * Reads what write has written, to the last bit; unknown keys are passed over. gives *out, to
 * be closed. SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO; SH_ERR_FORMAT: no JSON, of another
 * format or version, or a key is missing or of another type (err names it); SH_ERR_MEMORY
 * (while a text token is read, jansson tells it as SH_ERR_FORMAT). *out is set only on success.
 */
enum sh_status
sh_truth_json_read(const char *path, struct sh_truth_set **out, struct sh_error *err);

/* Frees what read gave and sets *set to NULL. Takes NULL. */
void sh_truth_json_close(struct sh_truth_set **set);

#endif
