/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/wave_repair.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/wave_size.h"

#define RIFF_SIZE_OFFSET   4u
#define RIFF_SIZE_COUNTED  8u /* the file's bytes less these */
#define RIFF_MAX           (UINT32_MAX - 1u)
#define W64_SIZE_OFFSET    16u
#define W64_CHUNK_BYTES    24u
#define DS64_DATA_OFFSET   8u
#define DS64_FRAMES_OFFSET 16u

/* A file while its header is set. */
struct header {
    const char *path;
    int file;
    uint64_t file_bytes;
    struct sh_wave_place place;
};

static enum sh_status put_little_endian(const struct header *header,
                                        uint64_t offset,
                                        uint64_t value,
                                        size_t n_bytes,
                                        struct sh_error *err)
{
    uint8_t bytes[8];
    for (size_t i = 0; i < n_bytes; i++) {
        bytes[i] = (uint8_t)(value >> (8 * i));
    }
    if (pwrite(header->file, bytes, n_bytes, (off_t)offset) != (ssize_t)n_bytes) {
        return sh_error_set_os(err, errno, header->path, NULL, "the header cannot be written");
    }
    return SH_OK;
}

static enum sh_status
put_riff(const struct header *header, uint64_t n_bytes, struct sh_error *err)
{
    const struct sh_wave_place *place = &header->place;
    const uint64_t whole_bytes = place->data_offset_bytes + n_bytes - RIFF_SIZE_COUNTED;
    if (whole_bytes > RIFF_MAX) {
        return sh_error_set(err, SH_ERR_FULL, header->path, "convert it to RF64",
                            "there are more samples than a WAV file can count");
    }
    enum sh_status status =
        put_little_endian(header, place->data_offset_bytes - 4, n_bytes, 4, err);
    if (status == SH_OK && place->fact_offset_bytes != 0) {
        status = put_little_endian(header, place->fact_offset_bytes,
                                   n_bytes / place->block_bytes, 4, err);
    }
    return status == SH_OK ? put_little_endian(header, RIFF_SIZE_OFFSET, whole_bytes, 4, err)
                           : status;
}

static enum sh_status
put_rf64(const struct header *header, uint64_t n_bytes, struct sh_error *err)
{
    const struct sh_wave_place *place = &header->place;
    const uint64_t at = place->ds64_offset_bytes;
    enum sh_status status = put_little_endian(header, at + DS64_DATA_OFFSET, n_bytes, 8, err);
    if (status == SH_OK) {
        status = put_little_endian(header, at + DS64_FRAMES_OFFSET,
                                   n_bytes / place->block_bytes, 8, err);
    }
    const uint64_t whole_bytes = place->data_offset_bytes + n_bytes - RIFF_SIZE_COUNTED;
    return status == SH_OK ? put_little_endian(header, at, whole_bytes, 8, err) : status;
}

static enum sh_status
put_w64(const struct header *header, uint64_t n_bytes, struct sh_error *err)
{
    const uint64_t offset = header->place.data_offset_bytes;
    enum sh_status status =
        put_little_endian(header, offset - 8, n_bytes + W64_CHUNK_BYTES, 8, err);
    return status == SH_OK
               ? put_little_endian(header, W64_SIZE_OFFSET, offset + n_bytes, 8, err)
               : status;
}

static enum sh_status
put_size(const struct header *header, uint64_t n_bytes, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    switch (header->place.kind) {
    case SH_WAVE_RIFF:
        status = put_riff(header, n_bytes, err);
        break;
    case SH_WAVE_RF64:
        status = put_rf64(header, n_bytes, err);
        break;
    case SH_WAVE_W64:
        status = put_w64(header, n_bytes, err);
        break;
    }
    if (status == SH_OK && fsync(header->file) != 0) {
        status = sh_error_set_os(err, errno, header->path, NULL, "the header cannot be synced");
    }
    return status;
}

/* Sets the header where it does not count the whole frames that are there. */
static enum sh_status
repair(const struct header *header, struct sh_wave_repair *out, struct sh_error *err)
{
    const struct sh_wave_place *place = &header->place;
    const uint64_t here_bytes = header->file_bytes - place->data_offset_bytes;
    const uint64_t whole_bytes = here_bytes - here_bytes % place->block_bytes;
    const bool is_counted =
        !place->is_open && place->data_bytes <= here_bytes &&
        sh_wave_size_ends_in_chunks(header->file, header->file_bytes, place);
    out->before_frames = place->is_open ? 0 : place->data_bytes / place->block_bytes;
    out->now_frames = is_counted ? out->before_frames : whole_bytes / place->block_bytes;
    if (is_counted || (!place->is_open && place->data_bytes == whole_bytes)) {
        out->answer = SH_WAVE_REPAIR_WHOLE;
        return SH_OK;
    }
    out->answer = SH_WAVE_REPAIR_DONE;
    return put_size(header, whole_bytes, err);
}

enum sh_status
sh_wave_repair_run(const char *path, struct sh_wave_repair *out, struct sh_error *err)
{
    struct stat about;
    struct header header = {.path = path, .file = open(path, O_RDWR | O_CLOEXEC | O_NONBLOCK)};
    *out = (struct sh_wave_repair){.answer = SH_WAVE_REPAIR_FOREIGN};
    if (header.file < 0) {
        return sh_error_set_os(err, errno, path, NULL, "the file cannot be opened for writing");
    }
    enum sh_status status = SH_OK;
    if (fstat(header.file, &about) != 0) {
        status = sh_error_set_os(err, errno, path, NULL, "the file cannot be read");
        goto out;
    }
    header.file_bytes = (uint64_t)about.st_size;
    if (S_ISREG(about.st_mode) &&
        sh_wave_size_locate(header.file, header.file_bytes, &header.place) &&
        header.place.block_bytes > 0 &&
        header.file_bytes >= header.place.data_offset_bytes + header.place.block_bytes) {
        status = repair(&header, out, err);
    }
out:
    (void)close(header.file);
    return status;
}
