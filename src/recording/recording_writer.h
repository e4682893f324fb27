/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_RECORDING_WRITER_H
#define SH_RECORDING_RECORDING_WRITER_H

#include <stdbool.h>
#include <stddef.h>

#include "recording/session.h"
#include "recording/session_json.h"
#include "sensor/block.h"

/*
 * Writes a recording while it happens: blocks and anchors come in through a sink, marks beside
 * them. Whatever ends the program, a kill or a loss of power, the folder holds a readable
 * recording that lost at most the last second of samples. One thread.
 * Test: tests/recording/test_recording_writer.c.
 */
struct sh_recording_writer;

struct sh_recording_writer_config {
    bool is_synced; /* false: what comes is safe only from finish on (made data, copies) */
    double
        longest_s; /* a stream that could pass 4 GiB within this time becomes RF64, above 0 */
    const struct sh_session_json *kept; /* kept until close: keys of a recording that is written
                                           anew; NULL: none */
};

/* Synced, 24 hours, nothing kept. */
struct sh_recording_writer_config sh_recording_writer_config_default(void);

/*
 * Makes folder, which must not exist, with recording.json and one audio file a stream, named
 * after the stream. session is copied: who, what, streams and channels, marks (limits in force,
 * say), but no anchors and no gaps, which come while recording; file names in it are ignored.
 * Counts become 16-bit WAV where the ranges of all channels fit, else 24 or 32 bits; physical
 * values become 64-bit floats.
 * SH_ERR_EXISTS (folder), SH_ERR_NOT_FOUND, SH_ERR_PERMISSION, SH_ERR_IO, SH_ERR_ARGUMENT
 * (no streams or channels, a rate no audio file has, channels of counts and of values in one
 * stream, anchors or gaps, longest_s), SH_ERR_FORMAT and SH_ERR_NOT_FINITE
 * (sh_session_json_write), SH_ERR_MEMORY. On failure the folder is gone again.
 */
enum sh_status sh_recording_writer_open(const char *folder,
                                        const struct sh_session *session,
                                        const struct sh_recording_writer_config *config,
                                        struct sh_recording_writer **out,
                                        struct sh_error *err);

/*
 * Closes all files and sets *writer to NULL. Without finish before, the recording is what a
 * kill would have left, or better. Takes NULL inside.
 */
void sh_recording_writer_close(struct sh_recording_writer **writer);

/*
 * Where blocks and anchors go in; valid until close.
 * A block is written at once; is_filled makes it a gap. Each second of a stream's frames is
 * synced, after recording.json where it names new gaps. A count beyond the range the file was
 * made for is no loss: the file is made anew with 32 bits, once, which takes as long as copying
 * it. An anchor rewrites recording.json.
 * SH_ERR_ARGUMENT: no such stream, other channels, frames that do not follow the last ones, an
 * anchor for frames that have passed or not behind the last anchor, a sample that is no 32-bit
 * count (or, of physical values, not finite); the writer can go on. SH_ERR_FULL: over 4 GiB of
 * WAV, over a session's gaps or anchors. SH_ERR_IO and its like: the disk is full, say; the
 * stream's file can not go on, and each later block gives the same again.
 * Cost: a write a block; a second, two syncs a stream. An anchor: formatting all anchors, two
 * syncs.
 */
struct sh_block_sink sh_recording_writer_sink(struct sh_recording_writer *writer);

/*
 * Appends a mark (copied; its kept counts as 0) and rewrites recording.json.
 * SH_ERR_ARGUMENT (a kind that is SH_MARK_OTHER), SH_ERR_FORMAT (not UTF-8),
 * SH_ERR_NOT_FINITE, SH_ERR_FULL, SH_ERR_MEMORY: the mark is not taken. SH_ERR_IO and its like:
 * it is taken, and written with the next rewrite.
 */
enum sh_status sh_recording_writer_add_mark(struct sh_recording_writer *writer,
                                            const struct sh_mark *mark,
                                            struct sh_error *err);

/*
 * Removes the mark at an index of the session's list and rewrites recording.json.
 * SH_ERR_ARGUMENT: the recording has ended. SH_ERR_NOT_FOUND: there is no such mark. SH_ERR_IO
 * and its like: it is gone, and written so with the next rewrite.
 */
enum sh_status sh_recording_writer_remove_mark(struct sh_recording_writer *writer,
                                               size_t index,
                                               struct sh_error *err);

/*
 * Sets a tag (sh_session_set_tag: an empty value takes it away) and rewrites recording.json.
 * SH_ERR_ARGUMENT (an empty key; the recording has ended), SH_ERR_FORMAT (not UTF-8),
 * SH_ERR_FULL, SH_ERR_MEMORY: the tags are as they were. SH_ERR_IO and its like: it is set, and
 * written with the next rewrite.
 */
enum sh_status sh_recording_writer_set_tag(struct sh_recording_writer *writer,
                                           const struct sh_tag *tag,
                                           struct sh_error *err);

/*
 * Sets what became of a stream's frames on the way in; written with the next rewrite, and each
 * second. SH_ERR_ARGUMENT: no such stream.
 */
enum sh_status sh_recording_writer_set_counts(struct sh_recording_writer *writer,
                                              size_t stream,
                                              const struct sh_frame_counts *counts);

/* The session so far; borrowed until close. */
const struct sh_session *sh_recording_writer_session(const struct sh_recording_writer *writer);

/*
 * The clean end: completes all files, and with to_flac turns them into FLAC where it can
 * (sh_recording_flac_convert, whose statuses come back; the recording is whole all the same).
 * Then nothing more can be written (SH_ERR_ARGUMENT). The first failure comes back after all
 * files have been tried.
 */
enum sh_status sh_recording_writer_finish(struct sh_recording_writer *writer,
                                          bool to_flac,
                                          struct sh_error *err);

#endif
