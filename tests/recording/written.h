/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_RECORDING_WRITTEN_H
#define SH_TESTS_RECORDING_WRITTEN_H

#include "recording/collector.h"
#include "recording/recording_writer.h"
#include "recording/scratch.h"

/* A recording that a test writes, and what is in its folder. All fail the running test. */

#define WRITTEN_TAG_BYTES 128

struct written {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES]; /* is not there before the writer opens it */
    struct sh_session session;       /* example_open's */
    struct sh_recording_writer_config config;
    struct sh_recording_writer *writer;
    struct sh_block_sink sink;
};

/* Makes ready; opens the writer and its sink; closes the writer, twice, and clears away. */
void written_start(struct written *f);
void written_open(struct written *f);
void written_close(struct written *f);

/* A tag by way of the writer: its status. */
enum sh_status written_set_tag(struct written *f, const char *key, const char *value);

/* The frames, session, file or tag of the folder; a tag that is not there is "". */
void written_play(const struct written *f, struct collector *collector);
void written_read_session(const struct written *f, struct sh_session *session);
bool written_has_file(const struct written *f, const char *name);
void written_read_tag(const struct written *f, const char *key, char value[WRITTEN_TAG_BYTES]);

#endif
