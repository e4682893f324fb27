/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_RECORDING_FLAC_H
#define SH_RECORDING_RECORDING_FLAC_H

#include "recording/session.h"
#include "recording/session_json.h"

/*
 * Turns the audio files of a recording that has ended into FLAC, which takes less than half the
 * room and loses nothing. Each copy is read back and compared with its original before
 * recording.json names it, and only then the original is removed: at every moment the folder
 * holds a whole recording. Streams that FLAC cannot hold (floats, 32 bits, more than 8
 * channels, 655,350 Hz), that have no frames, or that are FLAC already stay as they are.
 *
 * session: what folder/recording.json says; the names of the files that were turned change in
 * it. kept: as for sh_session_json_write.
 * SH_ERR_IO (full disk, say), SH_ERR_EXISTS (NAME.flac is already there), SH_ERR_FORMAT (the
 * copy is not the same), SH_ERR_MEMORY and what reading and writing give: the recording and
 * session are then as they were.
 * Cost: some 0.7 s for 1 h of 4 channels at 1000 Hz. One writer a folder at a time.
 * Test: tests/recording/test_recording_flac.c.
 */
enum sh_status sh_recording_flac_convert(const char *folder,
                                         struct sh_session *session,
                                         const struct sh_session_json *kept,
                                         struct sh_error *err);

#endif
