/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_RECORDING_CONTENT_H
#define SH_APP_RECORDING_CONTENT_H

#include <stdint.h>

#include "base/digest.h"
#include "recording/session.h"

/*
 * By what a recording is told from all others, wherever its folder lies and whatever was marked
 * in it since. Test of all: tests/app/test_history_update.c.
 */

#define SH_RECORDING_CONTENT_FRAMES 1024u /* of each stream that count */

/*
 * The digest of when the recording started and, of each stream, its name, its number of
 * channels and its first SH_RECORDING_CONTENT_FRAMES frames: a sensor's noise is different each
 * time. A stream without a frame counts as such. Turning WAV into FLAC, adding marks, renaming
 * the athlete or the folder leave it as it is. Statuses of sh_audio_reader_open and
 * sh_audio_reader_read but SH_ERR_SHORT. Cost: reads the beginning of each file.
 */
enum sh_status sh_recording_content_find(const char *folder,
                                         const struct sh_session *session,
                                         char content[SH_DIGEST_TEXT_BYTES],
                                         struct sh_error *err);

/*
 * When anything in the folder but its analysis was changed last: ns since 1970; 0 where the
 * folder cannot be read.
 */
int64_t sh_recording_content_get_stamp_ns(const char *folder);

#endif
