/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_file.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "recording/audio_copy.h"
#include "recording/stream_format.h"

#define BITS_WIDE 32u

struct sh_stream_file {
    struct sh_audio_writer *audio;
    struct sh_audio_writer_config config;
    double longest_s;
    uint64_t n_frames;
    double n_frames_unsynced;
    struct sh_error failure; /* what stopped the file */
    char path[PATH_MAX];
};

uint64_t sh_stream_file_n_frames(const struct sh_stream_file *file)
{
    return file->n_frames;
}

bool sh_stream_file_is_due(const struct sh_stream_file *file)
{
    return file->n_frames_unsynced > 0.0 && file->n_frames_unsynced >= file->config.rate_hz;
}

void sh_stream_file_close(struct sh_stream_file **file)
{
    if (file == NULL || *file == NULL) {
        return;
    }
    sh_audio_writer_close(&(*file)->audio);
    free(*file);
    *file = NULL;
}

enum sh_status sh_stream_file_open(const char *path,
                                   const struct sh_audio_writer_config *config,
                                   double longest_s,
                                   struct sh_stream_file **out,
                                   struct sh_error *err)
{
    struct sh_stream_file *file = calloc(1, sizeof *file);
    if (file == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    file->config = *config;
    file->longest_s = longest_s;
    (void)snprintf(file->path, sizeof file->path, "%s", path);
    /* The audio writer refuses a path that was cut here. */
    enum sh_status status = sh_audio_writer_open(path, config, &file->audio, err);
    if (status == SH_OK) {
        *out = file;
    } else {
        sh_stream_file_close(&file);
    }
    return status;
}

static enum sh_status tell_failure(const struct sh_error *failure, struct sh_error *err)
{
    if (err != NULL && err->status == SH_OK) {
        *err = *failure;
    }
    return failure->status;
}

enum sh_status sh_stream_file_check(const struct sh_stream_file *file,
                                    const double *raw,
                                    size_t n_frames,
                                    struct sh_error *err)
{
    unsigned bits = file->config.bits > 0 ? BITS_WIDE : 0;
    if (file->failure.status != SH_OK) {
        return tell_failure(&file->failure, err);
    }
    if (!sh_audio_writer_fits(bits, raw, n_frames * file->config.n_channels)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, file->path, NULL, "a sample is %s",
                            bits > 0 ? "no 32-bit count" : "not finite");
    }
    return SH_OK;
}

/* Appends all frames of the finished file at path to another. */
static enum sh_status copy_frames(const struct sh_stream_file *file,
                                  struct sh_audio_writer *wide,
                                  struct sh_error *err)
{
    struct sh_audio_reader *reader = NULL;
    if (file->n_frames == 0) {
        return SH_OK;
    }
    enum sh_status status = sh_audio_reader_open(file->path, file->config.n_channels,
                                                 file->config.rate_hz, &reader, err);
    if (status == SH_OK) {
        status = sh_audio_copy_append(reader, file->config.n_channels, wide, err);
    }
    sh_audio_reader_close(&reader);
    return status;
}

/* Makes the file anew with wider counts; the old one stays until the new one is safe. */
static enum sh_status widen_file(struct sh_stream_file *file, struct sh_error *err)
{
    struct sh_audio_writer *wide = NULL;
    char wide_path[PATH_MAX + sizeof ".new"];
    (void)snprintf(wide_path, sizeof wide_path, "%s.new", file->path);
    file->config.bits = BITS_WIDE;
    file->config.container = sh_stream_format_container(&file->config, file->longest_s);
    enum sh_status status = sh_audio_writer_finish(file->audio, err);
    if (status == SH_OK) {
        status = sh_audio_writer_open(wide_path, &file->config, &wide, err);
    }
    if (status != SH_OK) {
        return status;
    }
    status = copy_frames(file, wide, err);
    if (status == SH_OK) {
        status = sh_audio_writer_sync(wide, err);
    }
    if (status == SH_OK) {
        status = sh_audio_writer_rename(wide, file->path, err);
    }
    if (status == SH_OK) {
        sh_audio_writer_close(&file->audio);
        file->audio = wide;
    } else {
        sh_audio_writer_close(&wide);
        (void)unlink(wide_path);
    }
    return status;
}

enum sh_status sh_stream_file_write(struct sh_stream_file *file,
                                    const double *raw,
                                    size_t n_frames,
                                    struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (file->failure.status != SH_OK) {
        return tell_failure(&file->failure, err);
    }
    if (!sh_audio_writer_fits(file->config.bits, raw, n_frames * file->config.n_channels)) {
        status = widen_file(file, &file->failure);
    }
    if (status == SH_OK) {
        status = sh_audio_writer_write(file->audio, raw, n_frames, &file->failure);
    }
    if (status != SH_OK) {
        return tell_failure(&file->failure, err);
    }
    file->n_frames += n_frames;
    file->n_frames_unsynced += (double)n_frames;
    return SH_OK;
}

enum sh_status sh_stream_file_sync(struct sh_stream_file *file, struct sh_error *err)
{
    if (file->failure.status == SH_OK) {
        (void)sh_audio_writer_sync(file->audio, &file->failure);
    }
    file->n_frames_unsynced = 0.0;
    return file->failure.status == SH_OK ? SH_OK : tell_failure(&file->failure, err);
}

enum sh_status sh_stream_file_finish(struct sh_stream_file *file, struct sh_error *err)
{
    if (file->failure.status == SH_OK) {
        (void)sh_audio_writer_finish(file->audio, &file->failure);
    }
    sh_audio_writer_close(&file->audio);
    if (file->failure.status != SH_OK) {
        return tell_failure(&file->failure, err);
    }
    (void)sh_error_set(&file->failure, SH_ERR_ARGUMENT, file->path, NULL, "the file has ended");
    return SH_OK;
}
