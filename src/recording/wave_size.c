/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/wave_size.h"

#include <stddef.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

#define CHUNKS_MAX       1000u
#define NAME_BYTES       4u
#define RIFF_HEAD_BYTES  12u
#define RIFF_CHUNK_BYTES 8u
#define W64_HEAD_BYTES   40u
#define W64_CHUNK_BYTES  24u
#define W64_GUID_BYTES   16u
#define DS64_DATA_OFFSET 16u /* of the size of the samples, from the chunk's start */
#define SIZE_OPEN        UINT32_MAX

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

static bool find_riff_data(int file, uint64_t file_bytes, struct sh_wave_size *out)
{
    struct chunk chunk = {.next = RIFF_HEAD_BYTES};
    uint64_t long_bytes = SIZE_OPEN;
    uint8_t size[8];
    for (size_t i = 0; i < CHUNKS_MAX && chunk.next < file_bytes; i++) {
        uint64_t offset = chunk.next;
        if (!read_riff_chunk(file, offset, &chunk)) {
            return false;
        }
        if (is_named(chunk.name, "ds64") &&
            read_at(file, offset + DS64_DATA_OFFSET, size, sizeof size)) {
            long_bytes = get_little_endian(size, sizeof size);
        }
        if (is_named(chunk.name, "data")) {
            out->data_offset_bytes = chunk.content;
            out->data_bytes = chunk.n_bytes == SIZE_OPEN ? long_bytes : chunk.n_bytes;
            return out->data_bytes != 0 && out->data_bytes != SIZE_OPEN;
        }
    }
    return false;
}

static bool find_w64_data(int file, uint64_t file_bytes, struct sh_wave_size *out)
{
    struct chunk chunk = {.next = W64_HEAD_BYTES};
    for (size_t i = 0; i < CHUNKS_MAX && chunk.next < file_bytes; i++) {
        if (!read_w64_chunk(file, chunk.next, &chunk)) {
            return false;
        }
        if (is_named(chunk.name, "data")) {
            out->data_offset_bytes = chunk.content;
            out->data_bytes = chunk.n_bytes;
            return out->data_bytes != 0;
        }
    }
    return false;
}

bool sh_wave_size_find(int file, uint64_t file_bytes, struct sh_wave_size *out)
{
    uint8_t head[RIFF_HEAD_BYTES];
    if (!read_at(file, 0, head, sizeof head)) {
        return false;
    }
    bool is_riff = is_named(head, "RIFF") || is_named(head, "RF64");
    if (is_riff && is_named(head + 8, "WAVE")) {
        return find_riff_data(file, file_bytes, out);
    }
    return is_named(head, "riff") && find_w64_data(file, file_bytes, out);
}
