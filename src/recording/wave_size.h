/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_WAVE_SIZE_H
#define SH_RECORDING_WAVE_SIZE_H

#include <stdbool.h>
#include <stdint.h>

/*
 * What the header of a WAV, RF64 or W64 file says about the place of its samples. libsndfile
 * quietly trims it to what is there; we want to know whether samples are missing.
 */
struct sh_wave_size {
    uint64_t data_offset_bytes;
    uint64_t data_bytes;
};

/*
 * Walks the chunks of an open file of file_bytes from byte 0; leaves its position as it is.
 * False where the file is none of the three, where the walk ends before the samples, or where
 * the header leaves their size open (0 or all ones: a writer that could not go back).
 * Sources: RIFF (Multimedia Programming Interface, 1991), RF64 (EBU Tech 3306, 2009), W64 as
 * libsndfile writes it. Cost: one small read a chunk, 1000 chunks at most. Any thread.
 * Test: tests/recording/test_wave_size.c.
 */
bool sh_wave_size_find(int file, uint64_t file_bytes, struct sh_wave_size *out);

enum sh_wave_kind { SH_WAVE_RIFF, SH_WAVE_RF64, SH_WAVE_W64 };

/* Where a header says things that a kill leaves wrong. */
struct sh_wave_place {
    enum sh_wave_kind kind;
    uint64_t data_offset_bytes;
    uint64_t data_bytes;        /* as the header has it */
    bool is_open;               /* the header leaves it open */
    uint64_t block_bytes;       /* of a frame; 0 where it says nothing */
    uint64_t ds64_offset_bytes; /* content of RF64's chunk of sizes; 0: none */
    uint64_t fact_offset_bytes; /* content of a fact chunk; 0: none */
};

/* The same walk, also where the size is left open; false where it ends before the samples. */
bool sh_wave_size_locate(int file, uint64_t file_bytes, struct sh_wave_place *out);

/* Whether what stands behind the samples, as the header counts them, are chunks up to the end.
 */
bool sh_wave_size_ends_in_chunks(int file,
                                 uint64_t file_bytes,
                                 const struct sh_wave_place *place);

#endif
