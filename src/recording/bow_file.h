/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_BOW_FILE_H
#define SH_RECORDING_BOW_FILE_H

#include "base/text.h"
#include "recording/session.h"

/*
 * A bow's figures in a file of their own, as a calibration finds them and a capture takes them:
 *
 *     [bow]
 *     name = blue 66
 *     draw_weight_n = 178.2
 *     draw_weight_u_n = 1.1
 *     stiffness_n_per_m = 412
 *     stiffness_u_n_per_m = 9
 *     clicker = yes
 *     draw_length_m = 0.7112       (with 1 3/4 in; for people, like the next three)
 *     energy_j = 42.1
 *     energy_u_j = 0.4
 *     measured = 2026-05-01
 *
 * Test: tests/recording/test_bow_file.c.
 */
struct sh_bow_file {
    struct sh_bow bow;
    struct sh_quantity energy_j;
    double draw_length_m; /* 0: not given */
    char measured[SH_CHANNEL_DATE_BYTES];
};

#define SH_BOW_FILE_BYTES 16384u

/*
 * Reads one. Strict: an unknown section or key, a key given twice, a value that is none or out
 * of range (draw weight to 400 N, stiffness to 2000 N/m), an uncertainty without its value are
 * SH_ERR_FORMAT, said with file and line. Statuses of sh_file_text_read.
 */
enum sh_status
sh_bow_file_read(const char *path, struct sh_bow_file *out, struct sh_error *err);

/* Appends the file; what is unknown is left out. Failures stay in text->status. */
void sh_bow_file_format(const struct sh_bow_file *file, struct sh_text *text);

#endif
