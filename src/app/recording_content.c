/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/recording_content.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "app/analysis_store.h"
#include "app/home.h"
#include "recording/audio_reader.h"

#define NS_PER_S 1000000000

/* Up to SH_RECORDING_CONTENT_FRAMES frames into raw; *n_frames: how many. */
static enum sh_status read_frames(struct sh_audio_reader *reader,
                                  size_t n_channels,
                                  double *raw,
                                  size_t *n_frames,
                                  struct sh_error *err)
{
    enum sh_status status = SH_OK;
    size_t n = 1;
    *n_frames = 0;
    while (status == SH_OK && n > 0 && *n_frames < SH_RECORDING_CONTENT_FRAMES) {
        status = sh_audio_reader_read(reader, raw + *n_frames * n_channels,
                                      SH_RECORDING_CONTENT_FRAMES - *n_frames, &n, err);
        *n_frames += status == SH_OK ? n : 0;
    }
    return status;
}

static enum sh_status push_stream(const char *folder,
                                  const struct sh_session_stream *stream,
                                  uint64_t *digest,
                                  struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_audio_reader *reader = NULL;
    const size_t n_channels = stream->stream.n_channels;
    size_t n_frames = 0;
    double *raw = malloc(SH_RECORDING_CONTENT_FRAMES * n_channels * sizeof *raw);
    if (raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    }
    (void)snprintf(path, sizeof path, "%s/%s", folder, stream->file);
    struct sh_error refused = {0};
    enum sh_status status =
        sh_audio_reader_open(path, n_channels, stream->stream.rate_hz, &reader, &refused);
    if (status == SH_OK) {
        status = read_frames(reader, n_channels, raw, &n_frames, &refused);
    }
    sh_audio_reader_close(&reader);
    if (status == SH_OK || status == SH_ERR_SHORT) {
        *digest = sh_digest_push(*digest, stream->stream.name, strlen(stream->stream.name) + 1);
        *digest = sh_digest_push(*digest, &(unsigned char){(unsigned char)n_channels}, 1);
        *digest = sh_digest_push(*digest, raw, n_frames * n_channels * sizeof *raw);
        status = SH_OK;
    } else if (err != NULL) {
        *err = refused;
    }
    free(raw);
    return status;
}

enum sh_status sh_recording_content_find(const char *folder,
                                         const struct sh_session *session,
                                         char content[SH_DIGEST_TEXT_BYTES],
                                         struct sh_error *err)
{
    uint64_t digest =
        sh_digest_push(SH_DIGEST_EMPTY, session->started, strlen(session->started) + 1);
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        status = push_stream(folder, &session->streams[i], &digest, err);
    }
    if (status == SH_OK) {
        sh_digest_format(digest, content);
    }
    return status;
}

int64_t sh_recording_content_get_stamp_ns(const char *folder)
{
    int64_t latest_ns = 0;
    DIR *open = opendir(folder);
    if (open == NULL) {
        return 0;
    }
    for (struct dirent *entry = readdir(open); entry != NULL; entry = readdir(open)) {
        char path[SH_HOME_PATH_BYTES];
        struct stat file;
        const int n = snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
        if (n > 0 && (size_t)n < sizeof path && stat(path, &file) == 0 &&
            S_ISREG(file.st_mode) && strcmp(entry->d_name, SH_ANALYSIS_STORE_FILE) != 0) {
            const int64_t ns =
                (int64_t)file.st_mtim.tv_sec * NS_PER_S + (int64_t)file.st_mtim.tv_nsec;
            latest_ns = ns > latest_ns ? ns : latest_ns;
        }
    }
    (void)closedir(open);
    return latest_ns;
}
