/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture.h"
#include "app/capture_terminal.h"
#include "app/commands.h"
#include "app/end_signal.h"
#include "app/in_charge.h"
#include "app/live_page.h"
#include "app/page_address.h"
#include "app/say.h"

static const struct sh_command_option options[] = {
    SH_CAPTURE_SETUP_OPTIONS_LIST(SH_CAPTURE_SETUP_OPTION){
        "http-port", "N", "where the page is served; 0 (default): any port that is free", 0},
    {"listen", NULL, "open the page to the local network, with a code", 0},
    {"no-browser", NULL, "only print the address", 0},
    {"measure", NULL, "say at the end how long the page took, for benches", 0},
};

static enum sh_status
capture(const struct sh_live_page_config *config, bool is_shown, struct sh_error *err)
{
    struct sh_capture_terminal terminal;
    struct sh_capture_result result = {0};
    struct sh_live_page *page = NULL;
    enum sh_status status = sh_live_page_open(config, &page, err);
    if (status != SH_OK) {
        return status;
    }
    sh_page_address_say(sh_live_page_get_server(page), config->server.is_open, is_shown);
    const volatile sig_atomic_t *should_end = sh_end_signal_catch();
    sh_capture_terminal_open(&terminal, config->setup);
    const struct sh_capture_front fronts[] = {sh_capture_terminal_get_front(&terminal),
                                              sh_live_page_get_front(page)};
    status = sh_capture_run(config->setup, fronts, 2, should_end, &result, err);
    sh_capture_terminal_close(&terminal);
    sh_live_page_say_measures(page);
    enum sh_status closed = sh_live_page_close(&page, status == SH_OK ? err : NULL);
    sh_capture_result_close(&result);
    return status != SH_OK ? status : closed;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_capture_setup setup;
    struct sh_error err = {.status = SH_OK};
    struct sh_live_page_config config = {
        .setup = &setup,
        .server = {.is_open = sh_command_get(command, line, "listen", NULL) != NULL},
        .is_measured = sh_command_get(command, line, "measure", NULL) != NULL};
    const bool is_shown = sh_command_get(command, line, "no-browser", NULL) == NULL;
    const char *port = sh_command_get(command, line, "http-port", "0");
    enum sh_status status = sh_capture_setup_read(command, line, true, &setup, &err);
    if (status == SH_OK && setup.clock_voice == SH_CLOCK_VOICE_SIGNALS) {
        status = sh_in_charge_ask("live --clock-signals", "--clock-signals", &err);
    }
    enum sh_exit end = SH_EXIT_INPUT;
    if (status == SH_OK) {
        status = sh_page_address_read_port("live --http-port", port, &config.server, &err);
    }
    if (status != SH_OK) {
        end = status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT;
    } else {
        status = capture(&config, is_shown, &err);
    }
    sh_capture_setup_close(&setup);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, end);
}

const struct sh_command sh_command_live = {
    .name = "live",
    .operands = "",
    .summary = "Record as capture does, and show it on a page for a tablet at the line.",
    .details =
        "Shoot only on a range, under its rules and its officer. The cable leaves the riser "
        "on\n"
        "the bow hand's side, comes apart under a light pull, and never crosses string, "
        "arrow,\n"
        "limbs or walkway. Nothing is fitted or read in front of the line while others shoot.\n"
        "\n"
        "With --sensor and a port it records at once. Without, the page offers the ports that "
        "are\n"
        "plugged in and the profiles in the home's sensors/ folder (and of --sensor), and "
        "nothing\n"
        "is recorded until one is chosen there; sensors can be changed there later.\n"
        "\n"
        "The page's address is printed and, where there is a desktop, opened. It can be read "
        "on\n"
        "this machine only, unless --listen opens it to the local network: then whoever has "
        "the\n"
        "code that is shown here can read it, and it is sent as plain text. What capture lets "
        "be\n"
        "typed can be typed here, too, and entered on the page. Sound is off until somebody "
        "on\n"
        "the page switches it on, and never comes between draw start and release. Ctrl-C ends\n"
        "the program; what was recorded is analysed.\n"
        "\n"
        "Limits that a person has set (see limits) are watched while it runs. Stop on pain;\n"
        "limits, pain and the return to shooting belong to licensed practice.",
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
