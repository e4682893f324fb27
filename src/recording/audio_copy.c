/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/audio_copy.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define PART_FRAMES 4096u

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

/* Two open files; raw: [2][PART_FRAMES][n_channels]. */
static enum sh_status compare_files(struct sh_audio_reader *const readers[2],
                                    size_t n_channels,
                                    double *raw,
                                    const char *path,
                                    struct sh_error *err)
{
    size_t n[2] = {1, 1};
    double *const parts[2] = {raw, raw + PART_FRAMES * n_channels};
    while (n[0] > 0) {
        uint64_t frame = sh_audio_reader_n_frames(readers[0]);
        for (size_t i = 0; i < 2; i++) {
            enum sh_status status =
                sh_audio_reader_read(readers[i], parts[i], PART_FRAMES, &n[i], err);
            if (status != SH_OK) {
                return status;
            }
        }
        size_t n_bytes = n[0] * n_channels * sizeof *raw;
        if (n[0] != n[1] || memcmp(parts[0], parts[1], n_bytes) != 0) {
            return sh_error_set(err, SH_ERR_FORMAT, path, NULL,
                                "the copy differs within %u frames of frame %" PRIu64,
                                PART_FRAMES, frame);
        }
    }
    return SH_OK;
}

enum sh_status sh_audio_copy_compare(const char *path,
                                     const char *other_path,
                                     size_t n_channels,
                                     double rate_hz,
                                     struct sh_error *err)
{
    struct sh_audio_reader *readers[2] = {NULL, NULL};
    double *raw = malloc(2 * PART_FRAMES * n_channels * sizeof *raw);
    enum sh_status status = SH_OK;
    if (raw == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory");
    }
    status = sh_audio_reader_open(path, n_channels, rate_hz, &readers[0], err);
    if (status == SH_OK) {
        status = sh_audio_reader_open(other_path, n_channels, rate_hz, &readers[1], err);
    }
    if (status == SH_OK) {
        status = compare_files(readers, n_channels, raw, other_path, err);
    }
    sh_audio_reader_close(&readers[0]);
    sh_audio_reader_close(&readers[1]);
    free(raw);
    return status;
}
