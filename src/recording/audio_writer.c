/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_writer.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "metrology/channel.h"
#include "recording/atomic_file.h"

#define PART_VALUES       4096u
#define INT_BITS          32
#define FLAC_BITS_MAX     24u
#define FLAC_CHANNELS_MAX 8u
#define FLAC_RATE_HZ_MAX  655350
#define WAV_BYTES_MAX     4294900000u /* 4 GiB less room for headers */
#define DISK_TODO         "see that the disk has room and is in order"

struct sh_audio_writer {
    int descriptor;
    SNDFILE *file;
    struct sh_audio_writer_config config;
    uint64_t n_frames;
    int part[PART_VALUES];
    char path[PATH_MAX];
};

uint64_t sh_audio_writer_n_frames(const struct sh_audio_writer *writer)
{
    return writer->n_frames;
}

static int get_header_rate(double rate_hz)
{
    return (int)fmax(1.0, round(rate_hz));
}

/* A frame's head holds up to 65,535 Hz, or tens of Hz (RFC 9639, 9.1.2). */
static bool is_flac_able(const struct sh_audio_writer_config *config)
{
    int rate_hz = get_header_rate(config->rate_hz);
    return config->bits > 0 && config->bits <= FLAC_BITS_MAX &&
           config->n_channels <= FLAC_CHANNELS_MAX && rate_hz <= FLAC_RATE_HZ_MAX &&
           (rate_hz <= UINT16_MAX || rate_hz % 10 == 0);
}

static enum sh_status check_config(const char *path,
                                   const struct sh_audio_writer_config *config,
                                   struct sh_error *err)
{
    unsigned bits = config->bits;
    if ((bits != 0 && bits != 16 && bits != 24 && bits != 32) || config->n_channels < 1 ||
        config->n_channels > SH_STREAM_CHANNELS_MAX ||
        !(config->rate_hz > 0.0 && config->rate_hz < INT_MAX) || strlen(path) >= PATH_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, path, NULL,
                            "no such audio file can be made (%u bits, %zu channels, %g Hz)",
                            bits, config->n_channels, config->rate_hz);
    }
    if (config->container == SH_AUDIO_FLAC && !is_flac_able(config)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, path, "keep it as WAV",
                            "FLAC holds no %u bits, %zu channels, %g Hz", bits,
                            config->n_channels, config->rate_hz);
    }
    return SH_OK;
}

static int get_format(const struct sh_audio_writer_config *config)
{
    static const int containers[] = {SF_FORMAT_WAV, SF_FORMAT_RF64, SF_FORMAT_FLAC};
    int coding = config->bits == 0    ? SF_FORMAT_DOUBLE
                 : config->bits == 16 ? SF_FORMAT_PCM_16
                 : config->bits == 24 ? SF_FORMAT_PCM_24
                                      : SF_FORMAT_PCM_32;
    return containers[config->container] | coding;
}

void sh_audio_writer_close(struct sh_audio_writer **writer)
{
    if (writer == NULL || *writer == NULL) {
        return;
    }
    if ((*writer)->file != NULL) {
        (void)sf_close((*writer)->file);
    }
    if ((*writer)->descriptor >= 0) {
        (void)close((*writer)->descriptor);
    }
    free(*writer);
    *writer = NULL;
}

/* A failure of libsndfile, or of the system below it. */
static enum sh_status
tell_failure(const struct sh_audio_writer *writer, int os_number, struct sh_error *err)
{
    if (os_number != 0) {
        return sh_error_set_os(err, os_number, writer->path, DISK_TODO,
                               "the file cannot be written");
    }
    return sh_error_set(err, SH_ERR_IO, writer->path, DISK_TODO,
                        "the file cannot be written: %.100s", sf_strerror(writer->file));
}

enum sh_status sh_audio_writer_open(const char *path,
                                    const struct sh_audio_writer_config *config,
                                    struct sh_audio_writer **out,
                                    struct sh_error *err)
{
    enum sh_status status = check_config(path, config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_audio_writer *writer = calloc(1, sizeof *writer);
    if (writer == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    writer->config = *config;
    memcpy(writer->path, path, strlen(path) + 1);
    writer->descriptor = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (writer->descriptor < 0) {
        status = sh_error_set_os(err, errno, path, NULL, "the file cannot be made");
        goto out;
    }
    SF_INFO info = {.samplerate = get_header_rate(config->rate_hz),
                    .channels = (int)config->n_channels,
                    .format = get_format(config)};
    errno = 0;
    writer->file = sf_open_fd(writer->descriptor, SFM_WRITE, &info, SF_FALSE);
    if (writer->file == NULL) {
        status = errno != 0 ? tell_failure(writer, errno, err)
                            : sh_error_set(err, SH_ERR_UNSUPPORTED, path, NULL,
                                           "no such audio file can be made: %.100s",
                                           sf_strerror(NULL));
        (void)unlink(path);
        goto out;
    }
    /* A chunk with the time of writing: the same samples would not give the same bytes. */
    (void)sf_command(writer->file, SFC_SET_ADD_PEAK_CHUNK, NULL, SF_FALSE);
out:
    if (status == SH_OK) {
        *out = writer;
    } else {
        sh_audio_writer_close(&writer);
    }
    return status;
}

bool sh_audio_writer_fits(unsigned bits, const double *raw, size_t n_values)
{
    double limit = bits > 0 ? ldexp(1.0, (int)bits - 1) : 0.0;
    bool fits = true;
    for (size_t i = 0; i < n_values && fits; i++) {
        if (bits == 0) {
            fits = isfinite(raw[i]);
        } else {
            fits = raw[i] >= -limit && raw[i] < limit && !(fabs(raw[i] - rint(raw[i])) > 0.0);
        }
    }
    return fits;
}

static sf_count_t
write_counts(struct sh_audio_writer *writer, const double *raw, size_t n_frames)
{
    /* libsndfile takes counts at the top of an int */
    double factor = ldexp(1.0, INT_BITS - (int)writer->config.bits);
    size_t n_values = n_frames * writer->config.n_channels;
    for (size_t i = 0; i < n_values; i++) {
        writer->part[i] = (int)(raw[i] * factor);
    }
    return sf_writef_int(writer->file, writer->part, (sf_count_t)n_frames);
}

enum sh_status sh_audio_writer_write(struct sh_audio_writer *writer,
                                     const double *raw,
                                     size_t n_frames,
                                     struct sh_error *err)
{
    size_t n_channels = writer->config.n_channels;
    size_t n_part_frames = PART_VALUES / n_channels;
    unsigned value_bytes = writer->config.bits > 0 ? writer->config.bits / 8 : sizeof *raw;
    uint64_t n_bytes = (writer->n_frames + n_frames) * n_channels * value_bytes;
    if (!sh_audio_writer_fits(writer->config.bits, raw, n_frames * n_channels)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, writer->path, NULL,
                            "a sample is no count of %u bits", writer->config.bits);
    }
    if (writer->config.container == SH_AUDIO_WAV && n_bytes > WAV_BYTES_MAX) {
        return sh_error_set(err, SH_ERR_FULL, writer->path, "begin a new recording",
                            "the file would pass 4 GiB");
    }
    while (n_frames > 0) {
        size_t n = n_frames < n_part_frames ? n_frames : n_part_frames;
        errno = 0;
        sf_count_t n_written = writer->config.bits > 0
                                   ? write_counts(writer, raw, n)
                                   : sf_writef_double(writer->file, raw, (sf_count_t)n);
        if (n_written != (sf_count_t)n) {
            return tell_failure(writer, errno, err);
        }
        writer->n_frames += n;
        raw += n * n_channels;
        n_frames -= n;
    }
    return SH_OK;
}

static enum sh_status sync_file(struct sh_audio_writer *writer, struct sh_error *err)
{
    return fsync(writer->descriptor) == 0 ? SH_OK : tell_failure(writer, errno, err);
}

enum sh_status sh_audio_writer_sync(struct sh_audio_writer *writer, struct sh_error *err)
{
    enum sh_status status = sync_file(writer, err);
    if (status != SH_OK) {
        return status;
    }
    errno = 0;
    (void)sf_command(writer->file, SFC_UPDATE_HEADER_NOW, NULL, 0);
    if (sf_error(writer->file) != SF_ERR_NO_ERROR) {
        return tell_failure(writer, errno, err);
    }
    return sync_file(writer, err);
}

enum sh_status sh_audio_writer_finish(struct sh_audio_writer *writer, struct sh_error *err)
{
    errno = 0;
    int failure = sf_close(writer->file);
    writer->file = NULL;
    if (failure != SF_ERR_NO_ERROR) {
        return tell_failure(writer, errno, err);
    }
    return sync_file(writer, err);
}

enum sh_status
sh_audio_writer_rename(struct sh_audio_writer *writer, const char *path, struct sh_error *err)
{
    if (strlen(path) >= sizeof writer->path) {
        return sh_error_set(err, SH_ERR_ARGUMENT, path, NULL, "the path is too long");
    }
    if (rename(writer->path, path) != 0) {
        return sh_error_set_os(err, errno, path, NULL, "the file cannot be replaced");
    }
    memcpy(writer->path, path, strlen(path) + 1);
    return sh_atomic_file_sync_folder(path, err);
}
