/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "stringhand/result.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/passes.h"
#include "report/shot_field.h"

struct sh_result {
    struct sh_analysis analysis;
};

static void tell(const struct sh_error *err, char message[SH_RESULT_MESSAGE_BYTES])
{
    if (message != NULL) {
        char line[SH_ERROR_LINE_BYTES];
        sh_error_format(err, line);
        (void)snprintf(message, SH_RESULT_MESSAGE_BYTES, "%s", line);
    }
}

int sh_result_open(const char *folder,
                   struct sh_result **out,
                   char message[SH_RESULT_MESSAGE_BYTES])
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &thresholds};
    struct sh_error err = {0};
    struct sh_result *result = calloc(1, sizeof *result);
    enum sh_status status =
        result != NULL ? sh_passes_run(folder, &config, &result->analysis, &err)
                       : sh_error_set(&err, SH_ERR_MEMORY, folder, NULL, "out of memory");
    if (status != SH_OK) {
        free(result);
        tell(&err, message);
        return -1;
    }
    *out = result;
    return 0;
}

void sh_result_close(struct sh_result **result)
{
    if (*result != NULL) {
        sh_analysis_close(&(*result)->analysis);
        free(*result);
        *result = NULL;
    }
}

size_t sh_result_get_n_shots(const struct sh_result *result)
{
    return result->analysis.n_shots;
}

static const struct sh_shot_record *find_shot(const struct sh_result *result, size_t shot)
{
    return shot < result->analysis.n_shots ? &result->analysis.shots[shot] : NULL;
}

const char *sh_result_get_kind(const struct sh_result *result, size_t shot)
{
    const struct sh_shot_record *record = find_shot(result, shot);
    return record != NULL ? sh_shot_kind_name(record->shot.kind) : NULL;
}

/* A walk over the fields in search of a key. */
struct search {
    const char *key;
    int answer; /* as sh_result_find_value's */
    double value;
};

/* The part of the field that the key names; n_parts where it names none. */
static size_t find_part(const struct sh_shot_field *field, const char *key)
{
    if (field->n_parts == 1) {
        return strcmp(field->key, key) == 0 ? 0 : 1;
    }
    const size_t n_bytes = strlen(field->key);
    if (strncmp(field->key, key, n_bytes) != 0 || key[n_bytes] != '_') {
        return field->n_parts;
    }
    const char digit = key[n_bytes + 1];
    if (digit < '1' || digit > '9' || key[n_bytes + 2] != '\0') {
        return field->n_parts;
    }
    return (size_t)(digit - '1') < field->n_parts ? (size_t)(digit - '1') : field->n_parts;
}

static enum sh_status take_field(void *context, const struct sh_shot_field *field)
{
    struct search *search = context;
    if (field->type != SH_SHOT_FIELD_NUMBER) {
        return SH_OK;
    }
    const size_t part = find_part(field, search->key);
    if (part < field->n_parts) {
        search->answer = field->is_known[part] ? 1 : 0;
        search->value = field->number[part];
    }
    return SH_OK;
}

int sh_result_find_value(const struct sh_result *result,
                         size_t shot,
                         const char *key,
                         double *value)
{
    const struct sh_shot_record *record = find_shot(result, shot);
    struct search search = {.key = key, .answer = -1};
    if (record != NULL) {
        const struct sh_shot_field_sink sink = {take_field, &search};
        (void)sh_shot_field_each(record, &sink);
    }
    if (search.answer == 1) {
        *value = search.value;
    }
    return search.answer;
}

size_t sh_result_get_n_findings(const struct sh_result *result, size_t shot)
{
    const struct sh_shot_record *record = find_shot(result, shot);
    return record != NULL ? record->n_findings : 0;
}

static const struct sh_finding *
find_finding(const struct sh_result *result, size_t shot, size_t finding)
{
    return finding < sh_result_get_n_findings(result, shot)
               ? &result->analysis.shots[shot].findings[finding]
               : NULL;
}

const char *
sh_result_get_finding_code(const struct sh_result *result, size_t shot, size_t finding)
{
    const struct sh_finding *found = find_finding(result, shot, finding);
    return found != NULL ? sh_code_name(found->code) : NULL;
}

const char *
sh_result_get_finding_text(const struct sh_result *result, size_t shot, size_t finding)
{
    const struct sh_finding *found = find_finding(result, shot, finding);
    return found != NULL ? found->text : NULL;
}

const char *sh_result_get_version(void)
{
    return SH_VERSION;
}
