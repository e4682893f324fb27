/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_profiles.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "live/number_text.h"
#include "report/utf8.h"

#define ENDING      ".ini"
#define RATE_DIGITS 9

static int is_profile(const struct dirent *entry)
{
    const char *ending = strrchr(entry->d_name, '.');
    return entry->d_name[0] != '.' && ending != NULL && strcmp(ending, ENDING) == 0;
}

static int compare(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

static bool is_same_file(const char *a, const char *b)
{
    struct stat of_a;
    struct stat of_b;
    return stat(a, &of_a) == 0 && stat(b, &of_b) == 0 && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}

static bool has_file(const struct sh_live_profiles *profiles, const char *path)
{
    for (size_t i = 0; i < profiles->n; i++) {
        if (is_same_file(profiles->profile[i].path, path)) {
            return true;
        }
    }
    return false;
}

static void name_file(struct sh_live_profile *profile)
{
    const char *slash = strrchr(profile->path, '/');
    profile->file = slash != NULL ? slash + 1 : profile->path;
}

static void add_given(const struct sh_capture_setup *setup, struct sh_live_profiles *profiles)
{
    for (size_t i = 0; i < setup->given.n_profiles; i++) {
        struct sh_live_profile *profile = &profiles->profile[profiles->n++];
        (void)snprintf(profile->id, sizeof profile->id, "line/%zu", i + 1);
        (void)snprintf(profile->path, sizeof profile->path, "%s", setup->given.profile[i]);
        name_file(profile);
    }
}

static void add_of_folder(const char *folder, const char *name, struct sh_live_profiles *out)
{
    struct sh_live_profile *profile = &out->profile[out->n];
    const int n = snprintf(profile->path, sizeof profile->path, "%s/%s", folder, name);
    const int n_id = snprintf(profile->id, sizeof profile->id, "home/%s", name);
    if (n > 0 && (size_t)n < sizeof profile->path && (size_t)n_id < sizeof profile->id &&
        !has_file(out, profile->path)) {
        name_file(profile);
        out->n++;
    }
}

enum sh_status sh_live_profiles_open(const struct sh_capture_setup *setup,
                                     struct sh_live_profiles *out,
                                     struct sh_error *err)
{
    char folder[SH_HOME_PATH_BYTES + 16];
    struct dirent **names = NULL;
    const size_t n_max = setup->given.n_profiles + SH_LIVE_PROFILES_MAX;
    *out = (struct sh_live_profiles){calloc(n_max, sizeof *out->profile), 0};
    if (out->profile == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    add_given(setup, out);
    (void)snprintf(folder, sizeof folder, "%s/sensors", setup->home);
    const int n_names = scandir(folder, &names, is_profile, compare);
    for (int i = 0; i < n_names; i++) {
        if (out->n < n_max) {
            add_of_folder(folder, names[i]->d_name, out);
        }
        free(names[i]);
    }
    free(names);
    return SH_OK;
}

void sh_live_profiles_close(struct sh_live_profiles *profiles)
{
    free(profiles->profile);
    *profiles = (struct sh_live_profiles){NULL, 0};
}

const struct sh_live_profile *sh_live_profiles_find(const struct sh_live_profiles *profiles,
                                                    const char *id)
{
    for (size_t i = 0; i < profiles->n; i++) {
        if (strcmp(profiles->profile[i].id, id) == 0) {
            return &profiles->profile[i];
        }
    }
    return NULL;
}

/* Where somebody's folders lie is nothing for a page that others can read. */
static void cut_folders(const struct sh_live_profile *profile, struct sh_error *err)
{
    const size_t n = strlen(profile->path);
    char where[SH_ERROR_WHERE_BYTES];
    if (strncmp(err->where, profile->path, n) == 0) {
        (void)snprintf(where, sizeof where, "%s%s", profile->file, err->where + n);
        memcpy(err->where, where, sizeof where);
    }
}

/* A pipe would be waited for. */
static bool is_ordinary(const char *path)
{
    struct stat about;
    return stat(path, &about) != 0 || S_ISREG(about.st_mode);
}

enum sh_status sh_live_profile_read(const struct sh_live_profile *profile,
                                    struct sh_profile *out,
                                    struct sh_error *err)
{
    struct sh_error why = {.status = SH_OK};
    if (!sh_utf8_is_valid(profile->id)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, profile->file, "rename it",
                            "its name is no UTF-8");
    }
    if (!is_ordinary(profile->path)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, profile->file, "put a profile there",
                            "this is no ordinary file");
    }
    const enum sh_status status = sh_profile_read(profile->path, out, &why);
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        cut_folders(profile, &why);
        *err = why;
    }
    return status;
}

static void put_channel(const struct sh_channel *channel, struct sh_text *text)
{
    sh_text_printf(text, "{\"role\":\"%s\",\"finger\":", sh_channel_role_name(channel->role));
    sh_number_text_put_name(text, sh_channel_finger_name(channel->finger));
    sh_text_puts(text, ",\"axis\":");
    sh_number_text_put_name(text, sh_channel_axis_name(channel->axis));
    sh_text_puts(text, "}");
}

static void put_stream(const struct sh_stream *stream, struct sh_text *text)
{
    sh_text_puts(text, "{\"rate_hz\":");
    sh_number_text_put(text, stream->rate_hz, RATE_DIGITS);
    sh_text_puts(text, ",\"channels\":[");
    for (size_t c = 0; c < stream->n_channels; c++) {
        sh_text_puts(text, c > 0 ? "," : "");
        put_channel(&stream->channel[c], text);
    }
    sh_text_puts(text, "]}");
}

static void put_content(const struct sh_profile *content, struct sh_text *text)
{
    sh_text_puts(text, ",\"name\":");
    sh_number_text_put_string(text, content->name);
    sh_text_puts(text, ",\"port\":");
    sh_number_text_put_name(text, content->port);
    sh_text_puts(text, ",\"streams\":[");
    for (size_t i = 0; i < content->n_streams; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        put_stream(&content->streams[i].stream, text);
    }
    sh_text_puts(text, "],\"error\":null}");
}

static void put_profile(const struct sh_live_profile *profile,
                        struct sh_profile *content,
                        struct sh_text *text)
{
    struct sh_error why = {.status = SH_OK};
    char line[SH_ERROR_LINE_BYTES];
    sh_text_puts(text, "{\"id\":");
    sh_number_text_put_string(text, profile->id);
    sh_text_puts(text, ",\"file\":");
    sh_number_text_put_string(text, profile->file);
    if (sh_live_profile_read(profile, content, &why) == SH_OK) {
        put_content(content, text);
        return;
    }
    sh_error_format(&why, line);
    sh_text_puts(text, ",\"name\":\"\",\"port\":null,\"streams\":[],\"error\":");
    sh_number_text_put_string(text, line);
    sh_text_puts(text, "}");
}

void sh_live_profiles_put(const struct sh_capture_setup *setup, struct sh_text *text)
{
    struct sh_live_profiles profiles;
    struct sh_error none = {.status = SH_OK};
    struct sh_profile *content = calloc(1, sizeof *content);
    sh_text_puts(text, "\"profiles\":[");
    if (content == NULL || sh_live_profiles_open(setup, &profiles, &none) != SH_OK) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        free(content);
        return;
    }
    for (size_t i = 0; i < profiles.n; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        put_profile(&profiles.profile[i], content, text);
    }
    sh_text_puts(text, "]");
    sh_live_profiles_close(&profiles);
    free(content);
}
