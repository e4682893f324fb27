/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/analysis_store.h"
#include "app/capture.h"
#include "app/capture_terminal.h"
#include "app/commands.h"
#include "app/end_signal.h"
#include "app/in_charge.h"
#include "app/passes.h"
#include "app/say.h"

/* The second pass, which knows the whole session: its result goes beside the samples. A
 * recording in which no sample came has none. */
static enum sh_status
analyze(const struct sh_capture_setup *setup, const char *folder, struct sh_error *err)
{
    const struct sh_passes_config config = {.thresholds = &setup->thresholds};
    struct sh_analysis analysis = {0};
    struct sh_error refused = {0};
    enum sh_status status = sh_passes_run(folder, &config, &analysis, &refused);
    if (status == SH_ERR_SHORT) {
        return SH_OK;
    }
    if (status != SH_OK) {
        if (err != NULL) {
            *err = refused;
        }
        return status;
    }
    status = sh_analysis_store_write(folder, &analysis, err);
    sh_analysis_close(&analysis);
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_capture_setup setup;
    struct sh_capture_result result = {0};
    struct sh_error err = {0};
    enum sh_exit end = SH_EXIT_DONE;
    enum sh_status status = sh_capture_setup_read(command, line, false, &setup, &err);
    if (status == SH_OK && setup.clock_voice == SH_CLOCK_VOICE_SIGNALS) {
        status = sh_in_charge_ask("capture --clock-signals", "--clock-signals", &err);
    }
    if (status != SH_OK) {
        end = status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT;
    } else {
        struct sh_capture_terminal terminal;
        const volatile sig_atomic_t *should_end = sh_end_signal_catch();
        sh_capture_terminal_open(&terminal, &setup);
        const struct sh_capture_front front = sh_capture_terminal_get_front(&terminal);
        status = sh_capture_run(&setup, &front, 1, should_end, &result, &err);
        sh_capture_terminal_close(&terminal);
        for (size_t i = 0; i < result.n_recordings; i++) {
            enum sh_status analyzed =
                analyze(&setup, result.folder[i], status == SH_OK ? &err : NULL);
            status = status != SH_OK ? status : analyzed;
        }
        end = status == SH_OK ? SH_EXIT_DONE : SH_EXIT_INPUT;
    }
    sh_capture_setup_close(&setup);
    sh_capture_result_close(&result);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, end);
}

const struct sh_command sh_command_capture = {
    .name = "capture",
    .operands = "",
    .summary = "Record sensors, show every shot as it comes, keep what is typed as marks.",
    .details =
        "Shoot only on a range, under its rules and its officer. The cable leaves the riser "
        "on\n"
        "the bow hand's side, comes apart under a light pull, and never crosses string, "
        "arrow,\n"
        "limbs or walkway. Nothing is fitted or read in front of the line while others shoot.\n"
        "\n"
        "While it runs, type: 9 (score of the last arrow), 9 8 x (scores of an end), n TEXT\n"
        "(note), c 120 6 (clock of 120 s for 6 arrows), c (start the clock of --clock; c o: "
        "the\n"
        "other begins), h (halt it), s (stop it), o (the other has shot), p 2 (pain, 0 to\n"
        "10; p before 2, p after 2), a NAME (the next archer), q (end). Ctrl-C ends it cleanly "
        "too.\n"
        "\n"
        "The clock is silent unless --clock-sound or --clock-signals switch it on. Nothing "
        "sounds\n"
        "between draw start and release; without a force channel no draw is known, and "
        "signals\n"
        "come when they are due.\n"
        "\n"
        "Limits that a person has set (see limits) are watched while it runs. Stop on pain;\n"
        "limits, pain and the return to shooting belong to licensed practice.",
    .options = sh_capture_setup_options,
    .n_options = SH_CAPTURE_SETUP_N_OPTIONS,
    .run = run,
};
