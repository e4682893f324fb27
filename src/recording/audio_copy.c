/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_copy.h"

#include <inttypes.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define PART_FRAMES ((size_t)4096)

enum sh_status sh_audio_copy_append(struct sh_audio_reader *reader,
                                    size_t n_channels,
                                    struct sh_audio_writer *writer,
                                    struct sh_error *err)
{
    size_t n = 1;
    enum sh_status status = SH_OK;
    double *raw = malloc(PART_FRAMES * n_channels * sizeof *raw);
    if (raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    while (status == SH_OK && n > 0) {
        status = sh_audio_reader_read(reader, raw, PART_FRAMES, &n, err);
        if (status == SH_OK) {
            status = sh_audio_writer_write(writer, raw, n, err);
        }
    }
    free(raw);
    return status;
}

/* Two open files, and the part of each that was read last: raw[2][PART_FRAMES][n_channels]. */
struct pair {
    struct sh_audio_reader *readers[2];
    double *raw;
    size_t n[2];
    size_t n_channels;
};

static double *get_part(const struct pair *pair, size_t i)
{
    return pair->raw + i * PART_FRAMES * pair->n_channels;
}

static enum sh_status read_parts(struct pair *pair, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < 2 && status == SH_OK; i++) {
        status = sh_audio_reader_read(pair->readers[i], get_part(pair, i), PART_FRAMES,
                                      &pair->n[i], err);
    }
    return status;
}

static bool is_same(const struct pair *pair)
{
    size_t n_bytes = pair->n[0] * pair->n_channels * sizeof *pair->raw;
    return pair->n[0] == pair->n[1] &&
           memcmp(get_part(pair, 0), get_part(pair, 1), n_bytes) == 0;
}

static enum sh_status compare_files(struct pair *pair, const char *path, struct sh_error *err)
{
    do {
        uint64_t frame = sh_audio_reader_n_frames(pair->readers[0]);
        enum sh_status status = read_parts(pair, err);
        if (status != SH_OK) {
            return status;
        }
        if (!is_same(pair)) {
            return sh_error_set(err, SH_ERR_FORMAT, path, NULL,
                                "the copy differs within %zu frames of frame %" PRIu64,
                                PART_FRAMES, frame);
        }
    } while (pair->n[0] > 0);
    return SH_OK;
}

enum sh_status sh_audio_copy_compare(const char *path,
                                     const char *other_path,
                                     size_t n_channels,
                                     double rate_hz,
                                     struct sh_error *err)
{
    struct pair pair = {.raw = malloc(2 * PART_FRAMES * n_channels * sizeof *pair.raw),
                        .n_channels = n_channels};
    if (pair.raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    enum sh_status status =
        sh_audio_reader_open(path, n_channels, rate_hz, &pair.readers[0], err);
    if (status == SH_OK) {
        status = sh_audio_reader_open(other_path, n_channels, rate_hz, &pair.readers[1], err);
    }
    if (status == SH_OK) {
        status = compare_files(&pair, other_path, err);
    }
    sh_audio_reader_close(&pair.readers[0]);
    sh_audio_reader_close(&pair.readers[1]);
    free(pair.raw);
    return status;
}
