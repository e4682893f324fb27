/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/wave_size.h"

#include <stddef.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

#define CHUNKS_MAX          1000u
#define NAME_BYTES          4u
#define RIFF_HEAD_BYTES     12u
#define RIFF_CHUNK_BYTES    8u
#define W64_HEAD_BYTES      40u
#define W64_CHUNK_BYTES     24u
#define W64_GUID_BYTES      16u
#define DS64_DATA_OFFSET    8u  /* of the size of the samples, in the chunk */
#define FORMAT_BLOCK_OFFSET 12u /* of the bytes of a frame, in the chunk */
#define SIZE_OPEN           UINT32_MAX

/* One chunk: where its content starts, how long it is, where the next one starts. */
struct chunk {
    char name[NAME_BYTES];
    uint64_t content;
    uint64_t n_bytes;
    uint64_t next;
};

static bool read_at(int file, uint64_t offset, uint8_t *bytes, size_t n_bytes)
{
    return offset <= INT64_MAX - n_bytes &&
           pread(file, bytes, n_bytes, (off_t)offset) == (ssize_t)n_bytes;
}

static uint64_t get_little_endian(const uint8_t *bytes, size_t n_bytes)
{
    uint64_t value = 0;
    for (size_t i = n_bytes; i > 0; i--) {
        value = (value << 8) | bytes[i - 1];
    }
    return value;
}

static bool is_named(const void *bytes, const char *name)
{
    return memcmp(bytes, name, NAME_BYTES) == 0;
}

static bool read_riff_chunk(int file, uint64_t offset, struct chunk *chunk)
{
    uint8_t head[RIFF_CHUNK_BYTES];
    if (!read_at(file, offset, head, sizeof head)) {
        return false;
    }
    memcpy(chunk->name, head, NAME_BYTES);
    chunk->content = offset + RIFF_CHUNK_BYTES;
    chunk->n_bytes = get_little_endian(head + NAME_BYTES, 4);
    chunk->next = chunk->content + chunk->n_bytes + chunk->n_bytes % 2;
    return true;
}

static bool read_w64_chunk(int file, uint64_t offset, struct chunk *chunk)
{
    uint8_t head[W64_CHUNK_BYTES];
    if (!read_at(file, offset, head, sizeof head)) {
        return false;
    }
    uint64_t whole = get_little_endian(head + W64_GUID_BYTES, 8);
    if (whole < W64_CHUNK_BYTES || whole > INT64_MAX - offset) {
        return false;
    }
    memcpy(chunk->name, head, NAME_BYTES);
    chunk->content = offset + W64_CHUNK_BYTES;
    chunk->n_bytes = whole - W64_CHUNK_BYTES;
    chunk->next = offset + (whole + 7) / 8 * 8;
    return true;
}

/* What a chunk before the samples tells; true at the samples themselves. */
static bool take_riff_chunk(int file, const struct chunk *chunk, struct sh_wave_place *out)
{
    uint8_t bytes[8];
    if (is_named(chunk->name, "ds64") &&
        read_at(file, chunk->content + DS64_DATA_OFFSET, bytes, sizeof bytes)) {
        out->ds64_offset_bytes = chunk->content;
        out->data_bytes = get_little_endian(bytes, sizeof bytes);
    }
    if (is_named(chunk->name, "fact")) {
        out->fact_offset_bytes = chunk->content;
    }
    if (is_named(chunk->name, "fmt ") &&
        read_at(file, chunk->content + FORMAT_BLOCK_OFFSET, bytes, 2)) {
        out->block_bytes = get_little_endian(bytes, 2);
    }
    return is_named(chunk->name, "data");
}

static bool locate_riff(int file, uint64_t file_bytes, struct sh_wave_place *out)
{
    struct chunk chunk = {.next = RIFF_HEAD_BYTES};
    for (size_t i = 0; i < CHUNKS_MAX && chunk.next < file_bytes; i++) {
        if (!read_riff_chunk(file, chunk.next, &chunk)) {
            return false;
        }
        if (take_riff_chunk(file, &chunk, out)) {
            bool is_long = chunk.n_bytes == SIZE_OPEN && out->ds64_offset_bytes != 0;
            out->kind = is_long ? SH_WAVE_RF64 : SH_WAVE_RIFF;
            out->data_offset_bytes = chunk.content;
            out->data_bytes = is_long ? out->data_bytes : chunk.n_bytes;
            out->is_open = out->data_bytes == 0 || out->data_bytes == SIZE_OPEN;
            return true;
        }
    }
    return false;
}

static bool locate_w64(int file, uint64_t file_bytes, struct sh_wave_place *out)
{
    struct chunk chunk = {.next = W64_HEAD_BYTES};
    out->kind = SH_WAVE_W64;
    for (size_t i = 0; i < CHUNKS_MAX && chunk.next < file_bytes; i++) {
        uint8_t bytes[2];
        if (!read_w64_chunk(file, chunk.next, &chunk)) {
            return false;
        }
        if (is_named(chunk.name, "fmt ") &&
            read_at(file, chunk.content + FORMAT_BLOCK_OFFSET, bytes, sizeof bytes)) {
            out->block_bytes = get_little_endian(bytes, sizeof bytes);
        }
        if (is_named(chunk.name, "data")) {
            out->data_offset_bytes = chunk.content;
            out->data_bytes = chunk.n_bytes;
            out->is_open = chunk.n_bytes == 0;
            return true;
        }
    }
    return false;
}

bool sh_wave_size_locate(int file, uint64_t file_bytes, struct sh_wave_place *out)
{
    uint8_t head[RIFF_HEAD_BYTES];
    *out = (struct sh_wave_place){.data_bytes = 0};
    if (!read_at(file, 0, head, sizeof head)) {
        return false;
    }
    bool is_riff = is_named(head, "RIFF") || is_named(head, "RF64");
    if (is_riff && is_named(head + 8, "WAVE")) {
        return locate_riff(file, file_bytes, out);
    }
    return is_named(head, "riff") && locate_w64(file, file_bytes, out);
}

bool sh_wave_size_find(int file, uint64_t file_bytes, struct sh_wave_size *out)
{
    struct sh_wave_place place;
    if (!sh_wave_size_locate(file, file_bytes, &place) || place.is_open) {
        return false;
    }
    *out = (struct sh_wave_size){place.data_offset_bytes, place.data_bytes};
    return true;
}

/* From the end of the samples on nothing but whole chunks, up to the end of the file. */
bool sh_wave_size_ends_in_chunks(int file,
                                 uint64_t file_bytes,
                                 const struct sh_wave_place *place)
{
    bool is_w64 = place->kind == SH_WAVE_W64;
    uint64_t step = is_w64 ? 8 : 2;
    struct chunk chunk = {.next = (place->data_offset_bytes + place->data_bytes + step - 1) /
                                  step * step};
    for (size_t i = 0; i < CHUNKS_MAX && chunk.next < file_bytes; i++) {
        bool is_chunk = is_w64 ? read_w64_chunk(file, chunk.next, &chunk)
                               : read_riff_chunk(file, chunk.next, &chunk);
        for (size_t k = 0; is_chunk && k < NAME_BYTES; k++) {
            is_chunk = chunk.name[k] >= ' ' && chunk.name[k] <= '~';
        }
        if (!is_chunk) {
            return false;
        }
    }
    return chunk.next == file_bytes ||
           place->data_offset_bytes + place->data_bytes == file_bytes;
}
