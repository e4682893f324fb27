/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_RECORDING_WRITER_INSIDE_H
#define SH_RECORDING_RECORDING_WRITER_INSIDE_H

#include <limits.h>

#include "recording/recording_writer.h"
#include "recording/stream_file.h"

/* What the writer's own files share; nothing else looks inside. */

struct sh_recording_writer {
    struct sh_recording_writer_config config;
    char folder[PATH_MAX];
    struct sh_session session;
    struct sh_stream_file *files[SH_STREAMS_MAX];
    int lock;      /* of the folder, until close */
    bool is_dirty; /* the session holds what recording.json does not */
    bool is_finished;
};

/* SH_ERR_ARGUMENT where the recording has ended: nothing can be changed any more. */
enum sh_status sh_recording_writer_check_runs(const struct sh_recording_writer *writer,
                                              struct sh_error *err);

/* Writes recording.json as the session now is. Statuses of sh_session_json_write. */
enum sh_status sh_recording_writer_rewrite(struct sh_recording_writer *writer,
                                           struct sh_error *err);

#endif
