/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/bench_stages.h"

#include <stdio.h>

#include "bench/bench_machine.h"
#include "finding/analysis.h"
#include "finding/judge.h"
#include "measure/bow_ring.h"
#include "measure/clock_time.h"
#include "measure/creep.h"
#include "measure/finger_load.h"
#include "measure/finger_net.h"
#include "measure/finger_release.h"
#include "measure/finger_share.h"
#include "measure/flinch.h"
#include "measure/hold.h"
#include "measure/tremor.h"
#include "metrology/scale.h"
#include "recording/recording_reader.h"
#include "report/analysis_json.h"
#include "shot/segmenter.h"

#define NS_PER_S 1e9
#define MS_PER_S 1e3

enum family {
    FAMILY_CLOCK,
    FAMILY_TREMOR,
    FAMILY_HOLD,
    FAMILY_CREEP,
    FAMILY_FLINCH,
    FAMILY_RING,
    FAMILY_FINGERS,
    FAMILY_FINDINGS,
    FAMILY_COUNT
};

static const char *const family_names[FAMILY_COUNT] = {
    "measures: clock",  "measures: tremor", "measures: hold",    "measures: creep",
    "measures: flinch", "measures: bow",    "measures: fingers", "findings"};

/* One run over the recording. */
struct run {
    struct sh_recording_reader *reader;
    const struct sh_session *session;
    struct sh_segmenter *segmenter;
    struct sh_workspace *workspace;
    struct sh_thresholds thresholds;
    struct sh_analysis analysis;
    double family_s[FAMILY_COUNT];
    double sum; /* of the scaled samples, so that nobody can leave the scaling out */
    size_t n_samples;
};

static enum sh_status
count_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct run *run = context;
    run->n_samples += block->n_frames * block->n_channels;
    return SH_OK;
}

static enum sh_status
scale_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct run *run = context;
    double value[SH_STREAM_CHANNELS_MAX];
    const struct sh_stream *stream = &run->session->streams[block->stream].stream;
    for (size_t i = 0; i < block->n_frames; i++) {
        sh_scale_frame(stream, block->raw + i * block->n_channels, value);
        run->sum += value[0];
    }
    return SH_OK;
}

static enum sh_status
segment_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct run *run = context;
    return sh_segmenter_push_block(run->segmenter, block, err);
}

static enum sh_status
pass_over(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    return SH_OK;
}

static enum sh_status segment_anchor(void *context,
                                     size_t stream,
                                     const struct sh_anchor *anchor,
                                     struct sh_error *err)
{
    struct run *run = context;
    return sh_segmenter_push_anchor(run->segmenter, stream, anchor, err);
}

static enum sh_status ignore_shot(void *context,
                                  const struct sh_shot *shot,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    return SH_OK;
}

/* Adds the time since *since_s to a family, and sets *since_s to now. */
static void book(struct run *run, enum family family, double *since_s)
{
    const double now_s = sh_bench_machine_get_cpu_s();
    run->family_s[family] += now_s - *since_s;
    *since_s = now_s;
}

/* The families in the order of sh_measure_shot, each timed. */
static void measure(struct run *run, struct sh_scene *scene, struct sh_measures *out)
{
    struct sh_finger_net net;
    double since_s = sh_bench_machine_get_cpu_s();
    sh_clock_time_measure(scene, out);
    book(run, FAMILY_CLOCK, &since_s);
    sh_tremor_measure(scene, out);
    book(run, FAMILY_TREMOR, &since_s);
    sh_hold_measure(scene, out);
    book(run, FAMILY_HOLD, &since_s);
    sh_creep_measure(scene, out);
    book(run, FAMILY_CREEP, &since_s);
    sh_flinch_measure(scene, out);
    book(run, FAMILY_FLINCH, &since_s);
    sh_bow_ring_measure(scene, out);
    book(run, FAMILY_RING, &since_s);
    sh_finger_net_find(scene, &net);
    sh_finger_share_measure(scene, &net, out);
    sh_finger_load_measure(scene, &net, out);
    sh_finger_release_measure(scene, &net, out);
    book(run, FAMILY_FINGERS, &since_s);
}

static enum sh_status measure_shot(void *context,
                                   const struct sh_shot *shot,
                                   const struct sh_shot_view *view,
                                   struct sh_error *err)
{
    struct run *run = context;
    struct sh_shot_record record = {.shot = *shot};
    struct sh_scene scene = {.shot = shot,
                             .view = view,
                             .bow = &run->session->bow,
                             .marks = run->session->marks,
                             .n_marks = run->session->n_marks,
                             .previous_release_s = sh_quantity_unknown(SH_WHY_NOT_SEEN),
                             .workspace = run->workspace};
    record.measures.vibration_clipped = SH_ANSWER_UNKNOWN;
    measure(run, &scene, &record.measures);
    double since_s = sh_bench_machine_get_cpu_s();
    const struct sh_judge judge = {.thresholds = &run->thresholds,
                                   .marks = run->session->marks,
                                   .n_marks = run->session->n_marks,
                                   .date = ""};
    sh_judge_shot(&judge, &record);
    book(run, FAMILY_FINDINGS, &since_s);
    const enum sh_status status = sh_analysis_add(&run->analysis, &record);
    return status == SH_OK ? SH_OK
                           : sh_error_set(err, status, "bench", NULL, "no room for a shot");
}

static enum sh_status
open_segmenter(struct run *run, const struct sh_shot_sink *sink, struct sh_error *err)
{
    struct sh_segmenter_config config = sh_segmenter_config_default();
    config.n_streams = run->session->n_streams;
    for (size_t i = 0; i < run->session->n_streams; i++) {
        config.stream[i] = &run->session->streams[i].stream;
    }
    config.bow = run->session->bow;
    return sh_segmenter_open(&config, sink, &run->segmenter, err);
}

static enum sh_status open_workspace(struct run *run, struct sh_error *err)
{
    struct sh_workspace_config config = sh_workspace_config_default();
    config.n_streams = run->session->n_streams;
    for (size_t i = 0; i < run->session->n_streams; i++) {
        config.rate_hz[i] = run->session->streams[i].stream.rate_hz;
    }
    return sh_workspace_open(&config, &run->workspace, err);
}

/* Plays the recording into sink; *cpu_s: what it took. */
static enum sh_status
play(struct run *run, const struct sh_block_sink *sink, double *cpu_s, struct sh_error *err)
{
    *cpu_s = sh_bench_machine_get_cpu_s();
    const enum sh_status status = sh_recording_reader_push(run->reader, sink, err);
    *cpu_s = sh_bench_machine_get_cpu_s() - *cpu_s;
    return status;
}

/* Plays it through a fresh segmenter whose shots go to shot. */
static enum sh_status play_shots(struct run *run,
                                 const struct sh_shot_sink *shot,
                                 double *cpu_s,
                                 struct sh_error *err)
{
    const struct sh_block_sink sink = {segment_block, segment_anchor, run};
    enum sh_status status = open_segmenter(run, shot, err);
    if (status == SH_OK) {
        status = play(run, &sink, cpu_s, err);
    }
    if (status == SH_OK) {
        status = sh_segmenter_flush(run->segmenter, err);
    }
    sh_segmenter_close(&run->segmenter);
    return status;
}

static void print_samples(const struct run *run, const char *name, double cpu_s)
{
    (void)printf("  %-18s %8.1f ms %8.2f ns a sample\n", name, MS_PER_S * cpu_s,
                 NS_PER_S * cpu_s / (double)run->n_samples);
}

static void print_shots(const struct run *run, const char *name, double cpu_s)
{
    (void)printf("  %-18s %8.1f ms %8.3f ms a draw\n", name, MS_PER_S * cpu_s,
                 MS_PER_S * cpu_s / (double)run->analysis.n_shots);
}

static double time_json(const struct run *run)
{
    struct sh_text text;
    const double since_s = sh_bench_machine_get_cpu_s();
    sh_text_init(&text, 0);
    (void)sh_analysis_json_write(&run->analysis, &text);
    sh_text_close(&text);
    return sh_bench_machine_get_cpu_s() - since_s;
}

static enum sh_status print_stages(struct run *run, struct sh_error *err)
{
    double read_s = 0.0;
    double scale_s = 0.0;
    double segment_s = 0.0;
    double all_s = 0.0;
    const struct sh_block_sink counting = {count_block, pass_over, run};
    const struct sh_block_sink scaling = {scale_block, pass_over, run};
    const struct sh_shot_sink ignoring = {ignore_shot, run};
    const struct sh_shot_sink measuring = {measure_shot, run};
    enum sh_status status = play(run, &counting, &read_s, err);
    if (status == SH_OK) {
        status = play(run, &scaling, &scale_s, err);
    }
    if (status == SH_OK) {
        status = play_shots(run, &ignoring, &segment_s, err);
    }
    if (status == SH_OK) {
        status = play_shots(run, &measuring, &all_s, err);
    }
    if (status != SH_OK) {
        return status;
    }
    (void)printf("one pass, %zu samples, %zu draws:\n", run->n_samples, run->analysis.n_shots);
    print_samples(run, "reading", read_s);
    print_samples(run, "scaling", scale_s - read_s);
    print_samples(run, "segmenter", segment_s - read_s);
    for (int i = 0; i < FAMILY_COUNT; i++) {
        print_shots(run, family_names[i], run->family_s[i]);
    }
    print_samples(run, "all of these", all_s);
    print_shots(run, "JSON", time_json(run));
    return SH_OK;
}

enum sh_status sh_bench_stages_print(const char *folder, struct sh_error *err)
{
    struct run run = {.thresholds = sh_thresholds_default()};
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    enum sh_status status = sh_recording_reader_open(folder, &config, &run.reader, err);
    if (status != SH_OK) {
        return status;
    }
    run.session = sh_recording_reader_session(run.reader);
    sh_analysis_init(&run.analysis, folder, run.session->athlete);
    status = open_workspace(&run, err);
    if (status == SH_OK) {
        status = print_stages(&run, err);
    }
    sh_analysis_close(&run.analysis);
    sh_workspace_close(&run.workspace);
    sh_recording_reader_close(&run.reader);
    return status;
}
