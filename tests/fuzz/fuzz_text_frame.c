/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as lines of numbers. The first byte chooses channels and cut. However the rest is
 * cut, frames and counts are the same, and no byte is skipped that was not there.
 */
#include <string.h>

#include "fuzz/fuzz.h"
#include "sensor/text_frame.h"

/* The frames of a run, folded into one number, and how many they were. */
struct fold {
    uint64_t hash;
    uint64_t n_frames;
    size_t n_channels;
};

static enum sh_status fold_frame(void *context, const struct sh_frame *frame)
{
    struct fold *fold = context;
    SH_FUZZ_CHECK(frame->n_channels == fold->n_channels && frame->stream == 0);
    fold->hash = fold->hash * 1099511628211u + frame->device_time_us;
    for (size_t i = 0; i < frame->n_channels; i++) {
        fold->hash = fold->hash * 1099511628211u + (uint32_t)frame->counts[i];
    }
    fold->n_frames++;
    return SH_OK;
}

static struct sh_frame_counts
run(struct fold *fold, const uint8_t *bytes, size_t n_bytes, size_t piece)
{
    struct sh_text_frame decoder;
    const struct sh_frame_sink sink = {fold_frame, fold};
    SH_FUZZ_CHECK(sh_text_frame_init(&decoder, fold->n_channels, &sink) == SH_OK);
    for (size_t at = 0; at < n_bytes; at += piece) {
        size_t n = n_bytes - at < piece ? n_bytes - at : piece;
        SH_FUZZ_CHECK(sh_text_frame_push(&decoder, bytes + at, n) == SH_OK);
    }
    sh_text_frame_flush(&decoder);
    return decoder.counts;
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    if (n_bytes < 2) {
        return 0;
    }
    struct fold whole = {.n_channels = 1 + bytes[0] % SH_STREAM_CHANNELS_MAX};
    struct fold cut = whole;
    size_t piece = 1 + bytes[0] / SH_STREAM_CHANNELS_MAX;
    struct sh_frame_counts of_whole = run(&whole, bytes + 1, n_bytes - 1, n_bytes);
    struct sh_frame_counts of_cut = run(&cut, bytes + 1, n_bytes - 1, piece);
    SH_FUZZ_CHECK(whole.hash == cut.hash && whole.n_frames == cut.n_frames);
    SH_FUZZ_CHECK(memcmp(&of_whole, &of_cut, sizeof of_whole) == 0);
    SH_FUZZ_CHECK(of_whole.good == whole.n_frames);
    SH_FUZZ_CHECK(of_whole.skipped_bytes <= n_bytes - 1);
    SH_FUZZ_CHECK(of_whole.damaged <= of_whole.skipped_bytes);
    return 0;
}
