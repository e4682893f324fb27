/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_reader.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <limits.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/wave_size.h"

#define COPY_TODO "take the file from a copy, or repair the recording"

struct sh_audio_reader {
    int descriptor;
    SNDFILE *file;
    SF_INFO info;
    unsigned bits;
    uint64_t n_frames;          /* read so far */
    uint64_t n_frames_promised; /* by a header that counts them; 0 where none does */
    bool is_at_end;
    char path[PATH_MAX];
};

/* Bits of a count, 0 for floats; false for any other coding. */
static bool find_bits(int format, unsigned *bits)
{
    switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
        *bits = 8;
        return true;
    case SF_FORMAT_PCM_16:
        *bits = 16;
        return true;
    case SF_FORMAT_PCM_24:
        *bits = 24;
        return true;
    case SF_FORMAT_PCM_32:
        *bits = 32;
        return true;
    case SF_FORMAT_FLOAT:
    case SF_FORMAT_DOUBLE:
        *bits = 0;
        return true;
    default:
        return false;
    }
}

bool sh_audio_reader_is_physical(const struct sh_audio_reader *reader)
{
    return reader->bits == 0;
}

unsigned sh_audio_reader_bits(const struct sh_audio_reader *reader)
{
    return reader->bits;
}

bool sh_audio_reader_is_flac(const struct sh_audio_reader *reader)
{
    return (reader->info.format & SF_FORMAT_TYPEMASK) == SF_FORMAT_FLAC;
}

uint64_t sh_audio_reader_n_frames(const struct sh_audio_reader *reader)
{
    return reader->n_frames;
}

void sh_audio_reader_close(struct sh_audio_reader **reader)
{
    if (reader == NULL || *reader == NULL) {
        return;
    }
    if ((*reader)->file != NULL) {
        (void)sf_close((*reader)->file);
    }
    if ((*reader)->descriptor >= 0) {
        (void)close((*reader)->descriptor);
    }
    free(*reader);
    *reader = NULL;
}

static enum sh_status open_descriptor(struct sh_audio_reader *reader, struct sh_error *err)
{
    struct stat about;
    reader->descriptor = open(reader->path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (reader->descriptor < 0) {
        return sh_error_set_os(err, errno, reader->path, NULL, "the file cannot be opened");
    }
    if (fstat(reader->descriptor, &about) != 0) {
        return sh_error_set_os(err, errno, reader->path, NULL, "the file cannot be read");
    }
    if (!S_ISREG(about.st_mode)) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path, NULL, "this is no file");
    }
    if (about.st_size == 0) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path, COPY_TODO, "the file is empty");
    }
    return SH_OK;
}

/* A header that promises more samples than the file holds: libsndfile would not tell. */
static enum sh_status check_size(const struct sh_audio_reader *reader, struct sh_error *err)
{
    struct stat about;
    struct sh_wave_size size;
    if (fstat(reader->descriptor, &about) != 0) {
        return sh_error_set_os(err, errno, reader->path, NULL, "the file cannot be read");
    }
    uint64_t file_bytes = (uint64_t)about.st_size;
    if (!sh_wave_size_find(reader->descriptor, file_bytes, &size)) {
        return SH_OK;
    }
    uint64_t here_bytes =
        file_bytes > size.data_offset_bytes ? file_bytes - size.data_offset_bytes : 0;
    if (here_bytes >= size.data_bytes) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_FORMAT, reader->path, COPY_TODO,
                        "the file is cut off: %" PRIu64 " of %" PRIu64
                        " bytes of samples are there",
                        here_bytes, size.data_bytes);
}

static enum sh_status check_info(const struct sh_audio_reader *reader,
                                 size_t n_channels,
                                 double rate_hz,
                                 struct sh_error *err)
{
    const SF_INFO *info = &reader->info;
    if (info->channels < 1 || (size_t)info->channels != n_channels) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path,
                            "list each of the file's channels in recording.json",
                            "the file has %d channels, the recording says %zu", info->channels,
                            n_channels);
    }
    /* A header holds whole Hz, and none below 1. */
    if (fabs(info->samplerate - fmax(rate_hz, 1.0)) > 0.5) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path,
                            "correct rate_hz in recording.json",
                            "the file has %d frames a second, the recording says %g",
                            info->samplerate, rate_hz);
    }
    if (info->frames <= 0) {
        return sh_error_set(err, SH_ERR_SHORT, reader->path, NULL, "the file holds no samples");
    }
    return SH_OK;
}

static enum sh_status open_sound(struct sh_audio_reader *reader, struct sh_error *err)
{
    reader->file = sf_open_fd(reader->descriptor, SFM_READ, &reader->info, SF_FALSE);
    if (reader->file == NULL) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path, COPY_TODO,
                            "this is no audio file that can be read: %.100s",
                            sf_strerror(NULL));
    }
    if (!find_bits(reader->info.format, &reader->bits)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, reader->path,
                            "convert it to WAV or FLAC, integers or floats",
                            "the samples are coded with loss");
    }
    /* Counts as they stand, not as shares of full scale. */
    (void)sf_command(reader->file, SFC_SET_NORM_DOUBLE, NULL, SF_FALSE);
    if (reader->info.frames > 0 && reader->info.frames < SF_COUNT_MAX) {
        reader->n_frames_promised = (uint64_t)reader->info.frames;
    }
    return SH_OK;
}

enum sh_status sh_audio_reader_open(const char *path,
                                    size_t n_channels,
                                    double rate_hz,
                                    struct sh_audio_reader **out,
                                    struct sh_error *err)
{
    enum sh_status status = SH_OK;
    struct sh_audio_reader *reader = calloc(1, sizeof *reader);
    if (reader == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    reader->descriptor = -1;
    if (strlen(path) >= sizeof reader->path) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the path is too long");
        goto out;
    }
    memcpy(reader->path, path, strlen(path) + 1);
    status = open_descriptor(reader, err);
    if (status == SH_OK) {
        status = open_sound(reader, err);
    }
    if (status == SH_OK) {
        status = check_size(reader, err);
    }
    if (status == SH_OK) {
        status = check_info(reader, n_channels, rate_hz, err);
    }
out:
    if (status == SH_OK) {
        *out = reader;
    } else {
        sh_audio_reader_close(&reader);
    }
    return status;
}

static enum sh_status check_finite(const struct sh_audio_reader *reader,
                                   const double *raw,
                                   size_t n_frames,
                                   struct sh_error *err)
{
    size_t n_channels = (size_t)reader->info.channels;
    for (size_t i = 0; i < n_frames * n_channels; i++) {
        if (!isfinite(raw[i])) {
            return sh_error_set(err, SH_ERR_NOT_FINITE, reader->path,
                                "replace the sample and list it in gaps",
                                "channel %zu is no number at frame %" PRIu64, i % n_channels,
                                reader->n_frames + i / n_channels);
        }
    }
    return SH_OK;
}

/* Fewer frames came than were asked for: the end, or why not. */
static enum sh_status check_end(struct sh_audio_reader *reader, struct sh_error *err)
{
    int problem = sf_error(reader->file);
    reader->is_at_end = true;
    if (problem != SF_ERR_NO_ERROR) {
        return sh_error_set(err, problem == SF_ERR_SYSTEM ? SH_ERR_IO : SH_ERR_FORMAT,
                            reader->path, COPY_TODO,
                            "the samples behind frame %" PRIu64 " cannot be read: %.100s",
                            reader->n_frames, sf_error_number(problem));
    }
    if (reader->n_frames < reader->n_frames_promised) {
        return sh_error_set(err, SH_ERR_FORMAT, reader->path, COPY_TODO,
                            "the file is cut off: it ends at frame %" PRIu64 " of %" PRIu64,
                            reader->n_frames, reader->n_frames_promised);
    }
    return SH_OK;
}

enum sh_status sh_audio_reader_read(struct sh_audio_reader *reader,
                                    double *raw,
                                    size_t n_frames_max,
                                    size_t *n_frames,
                                    struct sh_error *err)
{
    enum sh_status status = SH_OK;
    *n_frames = 0;
    if (reader->is_at_end) {
        return SH_OK;
    }
    sf_count_t n_read = sf_readf_double(reader->file, raw, (sf_count_t)n_frames_max);
    size_t n = n_read > 0 ? (size_t)n_read : 0;
    if (reader->bits == 0) {
        status = check_finite(reader, raw, n, err);
    }
    if (status != SH_OK) {
        return status;
    }
    reader->n_frames += n;
    if (n < n_frames_max) {
        status = check_end(reader, err);
    }
    *n_frames = status == SH_OK ? n : 0;
    return status;
}

enum sh_status
sh_audio_reader_seek(struct sh_audio_reader *reader, uint64_t frame, struct sh_error *err)
{
    bool is_beyond = reader->n_frames_promised > 0 && frame > reader->n_frames_promised;
    uint64_t target = is_beyond ? reader->n_frames_promised : frame;
    if (sf_seek(reader->file, (sf_count_t)target, SEEK_SET) != (sf_count_t)target) {
        return sh_error_set(err, SH_ERR_IO, reader->path, COPY_TODO,
                            "frame %" PRIu64 " cannot be gone to", target);
    }
    reader->n_frames = target;
    reader->is_at_end = false;
    return SH_OK;
}
