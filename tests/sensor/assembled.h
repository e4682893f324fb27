/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_SENSOR_ASSEMBLED_H
#define SH_TESTS_SENSOR_ASSEMBLED_H

#include "sensor/assembler.h"
#include "sensor/timebase.h"

/*
 * An assembler of two streams, 1000 Hz with one channel and 80 Hz with two, and all that comes
 * out of it. All fail the running test where they cannot, and where blocks or anchors do not
 * follow each other.
 */

#define ASSEMBLED_FRAMES_MAX 70000u
#define ASSEMBLED_START_US   7000000.0 /* the host's time of the start */

/* All that came of one stream. */
struct assembled_track {
    uint64_t n_frames;
    uint64_t n_filled;
    double first_channel[ASSEMBLED_FRAMES_MAX];
    bool is_filled[ASSEMBLED_FRAMES_MAX];
    struct sh_timebase timebase;
};

struct assembled_kept {
    struct assembled_track tracks[2];
    size_t fail_block;  /* refuse this block, counted from 1; 0: none */
    size_t fail_anchor; /* refuse this anchor */
    size_t n_blocks;
    size_t n_anchors;
};

struct assembled {
    struct sh_stream streams[2];
    struct assembled_kept *kept; /* on the heap */
    struct sh_assembler_config config;
    struct sh_assembler *assembler;
};

/* Makes ready, to be closed; opens the assembler. */
struct assembled assembled_make(bool is_replay);
void assembled_open(struct assembled *rig);
void assembled_close(struct assembled *rig);

/* Bytes arrive while somebody listens all the time. */
void assembled_arrive(struct assembled *rig, int64_t host_us);

/* A frame with this count in its first channel: the assembler's status. */
enum sh_status
assembled_push(struct assembled *rig, size_t stream, double device_us, int32_t count);

/* Bytes arrive, and what can leave does. */
void assembled_advance(struct assembled *rig, double host_us);

/*
 * A device with two streams, 1000 Hz and 80 Hz nominal, whose clock is 150 ppm slow and whose
 * second converter is 3 % fast; bytes are read every 16.0037 ms. Frame i of the first stream
 * carries i mod 1000 as its count, so that a frame's true time can be told from its number.
 */
#define ASSEMBLED_SECOND_HZ 82.4

struct assembled_play {
    uint64_t quiet_from; /* frames of the first stream that do not come */
    uint64_t quiet_to;
    double second_quiet_s; /* from then on the second stream says nothing */
    double length_s;
};

void assembled_run(struct assembled *rig, const struct assembled_play *play);

/* Largest error of a frame's time, from the first frame on. */
double assembled_get_largest_error_s(const struct assembled_track *track,
                                     double rate_hz,
                                     enum sh_timebase_reading reading);

/* Fails unless the anchors are 10 s apart at most and sure to 4 ms. */
void assembled_check_anchors(const struct assembled_track *track, double rate_hz);

#endif
