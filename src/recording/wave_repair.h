/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_WAVE_REPAIR_H
#define SH_RECORDING_WAVE_REPAIR_H

#include <stdint.h>

#include "base/status.h"

/*
 * A WAV, RF64 or W64 file whose writer was killed holds samples that its header does not count,
 * or, copied in part, fewer than it counts. Here the header is set to what is there; not one
 * byte of the samples is written.
 */

enum sh_wave_repair_answer {
    SH_WAVE_REPAIR_WHOLE,  /* the header is right */
    SH_WAVE_REPAIR_DONE,   /* it was wrong and is right now */
    SH_WAVE_REPAIR_FOREIGN /* neither WAV nor RF64 nor W64 with samples: untouched */
};

struct sh_wave_repair {
    enum sh_wave_repair_answer answer;
    uint64_t before_frames; /* as the header had it; 0 where it left that open */
    uint64_t now_frames;
};

/*
 * Repairs the file in place, synced. Bytes at the end that are no whole frame stay, uncounted.
 * Chunks behind the samples are left alone. SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO;
 * SH_ERR_FULL: more samples than a WAV can count. Cost: some small reads and writes, one sync.
 * One program at a time. Test: tests/recording/test_wave_repair.c.
 */
enum sh_status
sh_wave_repair_run(const char *path, struct sh_wave_repair *out, struct sh_error *err);

#endif
