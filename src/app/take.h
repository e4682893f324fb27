/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_TAKE_H
#define SH_APP_TAKE_H

#include "app/clocks.h"
#include "app/pipeline.h"
#include "finding/analysis.h"
#include "recording/recording_writer.h"

/*
 * One recording in the making: what the sensors send goes into the folder and through the
 * stages at once, in that order, so that no shot is shown that was not kept. The folder is made
 * with the first samples or the first mark: a sensor that never spoke leaves none.
 *
 * A take may begin while the sensors run (the archer has changed): its clock starts at begin_s
 * of the sensors' clock and its streams at their next frames, which clocks puts on it by two
 * anchors, a second apart. Test: tests/app/test_take.c.
 */
struct sh_take;

struct sh_take_config {
    const char *folder;                     /* kept */
    const struct sh_session *session;       /* who and what, streams; copied */
    const struct sh_thresholds *thresholds; /* kept */
    const struct sh_clocks *clocks;         /* kept; is given each anchor before the take */
    double begin_s;                         /* 0 s of the take on the sensors' clock */
    struct sh_record_sink sink;             /* copied */
};

/* Opens without touching the disk. SH_ERR_MEMORY. */
enum sh_status
sh_take_open(const struct sh_take_config *config, struct sh_take **out, struct sh_error *err);

/* Closes what is open and sets *take to NULL. Takes NULL inside. Without a finish before, the
 * recording is what a kill would have left. */
void sh_take_close(struct sh_take **take);

/*
 * Where the sensors' blocks and anchors go in, on the sensors' clock and frame numbers.
 * Statuses of sh_recording_writer_open, its sink and the pipeline's.
 */
struct sh_block_sink sh_take_get_sink(struct sh_take *take);

/* Adds a mark at its time in the take. Statuses of sh_recording_writer_open and add_mark. */
enum sh_status
sh_take_add_mark(struct sh_take *take, const struct sh_mark *mark, struct sh_error *err);

/* Sets a tag of this recording. Statuses of sh_recording_writer_open and set_tag. */
enum sh_status
sh_take_set_tag(struct sh_take *take, const struct sh_tag *tag, struct sh_error *err);

/* Takes the mark at an index of the session's list back. SH_ERR_NOT_FOUND, also before there is
 * a folder; statuses of sh_recording_writer_remove_mark. */
enum sh_status sh_take_remove_mark(struct sh_take *take, size_t index, struct sh_error *err);

/* The session as recording.json has it, borrowed until the take is given something; NULL before
 * there is a folder. */
const struct sh_session *sh_take_get_session(const struct sh_take *take);

/* Draws of the take have been corrected and measured anew; see sh_pipeline_amend. */
void sh_take_amend(struct sh_take *take, struct sh_shot_record *records, size_t n);

/* See sh_recording_writer_set_counts; nothing before there is a folder. */
void sh_take_set_counts(struct sh_take *take,
                        size_t stream,
                        const struct sh_frame_counts *counts);

/* What the archer is doing now; *out all zero before there are samples. */
void sh_take_get_state(const struct sh_take *take, struct sh_segmenter_state *out);

/* Completes the analysis of the take's shots, after its finish (see sh_passes_complete). */
void sh_take_complete(const struct sh_take *take, struct sh_analysis *analysis);

/* True once there is a folder. */
bool sh_take_has_folder(const struct sh_take *take);

/* The clean end: last draws come out, files are completed, FLAC where asked for. */
enum sh_status sh_take_finish(struct sh_take *take, bool to_flac, struct sh_error *err);

#endif
