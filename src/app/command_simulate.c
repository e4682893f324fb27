/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/say.h"
#include "app/simulated_port.h"
#include "recording/recording_writer.h"
#include "report/utf8.h"
#include "sensor/profile_format.h"
#include "sim/archer.h"
#include "sim/sampler.h"

#define DRAWS_MAX    2000
#define BLOCK_FRAMES 4096
#define WAIT_S       60.0
#define FAULT_RATIO  0.15

static const struct sh_command_option options[] = {
    {"seed", "N", "start of the random numbers; the same seed gives the same evening", 0},
    {"set", "NAME",
     "which sensors: force80, force1000, bow, force_bow (default), fingers, fingers_bow, "
     "thin_fingers, thin_force, contact, sound, "
     "force_fingers_bow, all",
     0},
    {"draws", "N", "draws, let-downs too; 12 if not given", 0},
    {"clock", "S", "a clock of so many seconds for each end of six", 0},
    {"draw-weight", "N", "in newtons, 40 to 300; 178 if not given", 0},
    {"force-range", "N", "the string's sensor shows no more than so many newtons", 0},
    {"double-draws", "P", "how likely a draw follows within seconds; 0 if not given", 0},
    {"tab-takes", "P", "how likely the tab takes more of the fingers' force; 0 if not given",
     0},
    {"faults", "LIST", "what goes wrong in some draws: creep,flinch,... or all", 0},
    {"athlete", "NAME", "who shoots; wren if not given", 0},
    {"out", "FOLDER", "write a recording with its truth.json into this folder", 0},
    {"flac", NULL, "turn its files into FLAC", 0},
    {"pty", NULL, "send it through a pseudo-terminal instead, whose path is printed", 0},
    {"link", "PATH", "with --pty: make this symbolic link to the terminal", 0},
    {"speed", "X", "with --pty: so many times faster than real; capture it with --replay", 0},
    {"write-sensor", "FILE", "write the sensor's profile, for capture --sensor", 0},
    {"write-truth", "FILE", "write what truly happens", 0},
};

/* What the command line asks for besides the simulation itself. */
struct wishes {
    const char *out;
    const char *link;
    const char *profile;
    const char *truth;
    bool is_pty;
    bool to_flac;
    double speed; /* 0: not given */
};

static enum sh_status
refuse(struct sh_error *err, const char *option, const char *text, const char *todo)
{
    char where[64];
    (void)snprintf(where, sizeof where, "simulate --%s", option);
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%s' cannot be used", text);
}

static bool parse_number(const char *text, double low, double high, double *value)
{
    char *end = NULL;
    double number = strtod(text, &end);
    bool is_good = end != text && *end == '\0' && number >= low && number <= high;
    *value = is_good ? number : *value;
    return is_good;
}

static enum sh_status parse_faults(const char *list, unsigned *faults, struct sh_error *err)
{
    const char *at = list;
    while (*at != '\0') {
        size_t n_bytes = strcspn(at, ",");
        char name[64];
        enum sh_archer_fault fault = SH_ARCHER_CREEP;
        (void)snprintf(name, sizeof name, "%.*s", (int)(n_bytes < 63 ? n_bytes : 63), at);
        if (strcmp(name, "all") == 0) {
            *faults = (1u << SH_ARCHER_FAULTS) - 1u;
        } else if (sh_archer_fault_find(name, &fault)) {
            *faults |= (unsigned)fault;
        } else {
            return refuse(err, "faults", name, "take codes of docs/findings.md, or all");
        }
        at += n_bytes + (at[n_bytes] == ',' ? 1 : 0);
    }
    return SH_OK;
}

static enum sh_status parse_seed(const char *text, uint64_t *seed, struct sh_error *err)
{
    char *end = NULL;
    errno = 0;
    unsigned long long number = strtoull(text, &end, 10);
    if (end == text || *end != '\0' || text[0] == '-' || errno != 0) {
        return refuse(err, "seed", text, "take a whole number from 0 to 2^64 - 1");
    }
    *seed = number;
    return SH_OK;
}

static enum sh_status read_number(const char *option,
                                  const char *text,
                                  struct sh_simulation_config *config,
                                  struct wishes *wishes,
                                  struct sh_error *err)
{
    double draws = 0.0;
    if (strcmp(option, "draws") == 0) {
        bool is_good = parse_number(text, 1.0, DRAWS_MAX, &draws) && fmod(draws, 1.0) <= 0.0;
        config->n_draws = (size_t)draws;
        return is_good ? SH_OK : refuse(err, option, text, "take a whole number, 1 to 2000");
    }
    const struct {
        const char *name;
        double low;
        double high;
        double *to;
        const char *todo;
    } numbers[] = {
        {"clock", 1.0, 3600.0, &config->clock_s, "take 1 to 3600 s"},
        {"draw-weight", 40.0, 300.0, &config->draw_weight_n, "take 40 to 300 N"},
        {"double-draws", 0.0, 1.0, &config->double_draw_ratio, "take 0 to 1"},
        {"tab-takes", 0.0, 1.0, &config->tab_ratio, "take 0 to 1"},
        {"force-range", 20.0, 1000.0, &config->force_range_n, "take 20 to 1000 N"},
        {"speed", 0.01, 1000.0, &wishes->speed, "take 0.01 to 1000"},
    };
    size_t i = 0;
    while (i + 1 < sizeof numbers / sizeof numbers[0] && strcmp(option, numbers[i].name) != 0) {
        i++;
    }
    return parse_number(text, numbers[i].low, numbers[i].high, numbers[i].to)
               ? SH_OK
               : refuse(err, option, text, numbers[i].todo);
}

static enum sh_status read_option(const char *option,
                                  const char *text,
                                  struct sh_simulation_config *config,
                                  struct wishes *wishes,
                                  struct sh_error *err)
{
    const struct {
        const char *name;
        const char **to;
    } texts[] = {{"set", &config->set},
                 {"athlete", &config->athlete},
                 {"out", &wishes->out},
                 {"link", &wishes->link},
                 {"write-sensor", &wishes->profile},
                 {"write-truth", &wishes->truth}};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (strcmp(texts[i].name, option) == 0) {
            *texts[i].to = text;
            return text[0] != '\0' ? SH_OK
                                   : refuse(err, option, text, "leave it out, or fill it");
        }
    }
    if (strcmp(option, "seed") == 0) {
        return parse_seed(text, &config->seed, err);
    }
    if (strcmp(option, "faults") == 0) {
        return parse_faults(text, &config->faults, err);
    }
    bool is_pty = strcmp(option, "pty") == 0;
    bool is_flac = strcmp(option, "flac") == 0;
    wishes->is_pty = wishes->is_pty || is_pty;
    wishes->to_flac = wishes->to_flac || is_flac;
    return is_pty || is_flac ? SH_OK : read_number(option, text, config, wishes, err);
}

static enum sh_status write_folder(const struct sh_simulation *simulation,
                                   const struct wishes *wishes,
                                   struct sh_error *err)
{
    struct sh_recording_writer_config writing = sh_recording_writer_config_default();
    writing.is_synced = false;
    struct sh_recording_writer *writer = NULL;
    struct sh_sampler *sampler = NULL;
    enum sh_status status =
        sh_recording_writer_open(wishes->out, simulation->session, &writing, &writer, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_sampler_config sampling = {.plan = simulation->plan,
                                               .seed = simulation->seed,
                                               .stream = simulation->source,
                                               .n_streams = simulation->n_sources,
                                               .block_frames = BLOCK_FRAMES,
                                               .has_errors = true};
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    status = sh_sampler_open(&sampling, &sink, &sampler, err);
    if (status == SH_OK) {
        status = sh_sampler_advance(sampler, simulation->plan->duration_s + 1.0, err);
    }
    if (status == SH_OK) {
        status = sh_recording_writer_finish(writer, wishes->to_flac, err);
    }
    sh_sampler_close(&sampler);
    sh_recording_writer_close(&writer);
    char path[4096];
    (void)snprintf(path, sizeof path, "%s/truth.json", wishes->out);
    return status == SH_OK ? sh_simulation_write_truth(simulation, path, err) : status;
}

static enum sh_status
write_profile(const struct sh_simulation *simulation, const char *path, struct sh_error *err)
{
    struct sh_profile *profile = calloc(1, sizeof *profile);
    if (profile == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    sh_simulation_make_profile(simulation, profile);
    enum sh_status status = sh_profile_format_write(profile, path, err);
    free(profile);
    return status;
}

static enum sh_status run_simulation(const struct sh_simulation *simulation,
                                     const struct wishes *wishes,
                                     struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (wishes->profile != NULL) {
        status = write_profile(simulation, wishes->profile, err);
    }
    if (status == SH_OK && wishes->truth != NULL) {
        status = sh_simulation_write_truth(simulation, wishes->truth, err);
    }
    if (status == SH_OK && wishes->out != NULL) {
        status = write_folder(simulation, wishes, err);
    }
    if (status == SH_OK && wishes->is_pty) {
        const struct sh_simulated_port_config port = {
            .link = wishes->link,
            .speed = wishes->speed > 0.0 ? wishes->speed : 1.0,
            .wait_s = WAIT_S};
        status = sh_simulated_port_run(simulation, &port, err);
    }
    return status;
}

/* Options that are good by themselves but not together, and names that nobody has. */
static enum sh_status check_wishes(const struct sh_simulation_config *config,
                                   const struct wishes *wishes,
                                   struct sh_error *err)
{
    struct sh_stream_source_config streams[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_streams = 0;
    struct sh_error unknown = {0};
    if (wishes->out == NULL && !wishes->is_pty) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "simulate", "give --out FOLDER or --pty",
                            "nowhere to put it");
    }
    if (!wishes->is_pty && (wishes->link != NULL || wishes->speed > 0.0)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "simulate", "give --pty too",
                            "--link and --speed are of a pseudo-terminal");
    }
    if (wishes->out == NULL && wishes->to_flac) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "simulate", "give --out FOLDER too",
                            "--flac is of a recording's files");
    }
    if (strlen(config->athlete) >= SH_SESSION_NAME_BYTES ||
        !sh_utf8_is_valid(config->athlete)) {
        return refuse(err, "athlete", config->athlete, "take up to 127 bytes of UTF-8");
    }
    if (sh_channel_set_find(config->set, streams, &n_streams, &unknown) != SH_OK) {
        return refuse(err, "set", config->set, "see 'stringhand simulate --help' for the sets");
    }
    return SH_OK;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct wishes wishes = {0};
    struct sh_simulation simulation = {0};
    struct sh_error err = {0};
    enum sh_status status = SH_OK;
    config.fault_ratio = FAULT_RATIO;
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        status = read_option(command->options[line->values[i].option].name,
                             line->values[i].text, &config, &wishes, &err);
    }
    if (status == SH_OK) {
        status = check_wishes(&config, &wishes, &err);
    }
    if (status != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    config.is_one_device = wishes.is_pty;
    (void)fprintf(stderr, "seed %llu\n", (unsigned long long)config.seed);
    status = sh_simulation_open(&config, &simulation, &err);
    if (status == SH_OK) {
        status = run_simulation(&simulation, &wishes, &err);
    }
    sh_simulation_close(&simulation);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

const struct sh_command sh_command_simulate = {
    .name = "simulate",
    .operands = "",
    .summary = "An archer, a bow and a sensor that are not there, with the truth.",
    .details = "What it makes is for trying things out, never proof.",
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
