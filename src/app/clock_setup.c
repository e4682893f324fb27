/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_setup.h"

#include <stdio.h>
#include <string.h>

static enum sh_status refuse(const struct sh_round_format_set *set,
                             const char *name,
                             const char *where,
                             struct sh_error *err)
{
    char todo[SH_ERROR_TODO_BYTES] = "take ";
    for (size_t i = 0; i < set->n_formats; i++) {
        const size_t n = strlen(todo);
        (void)snprintf(todo + n, sizeof todo - n, "%s%s", i == 0 ? "" : ", ",
                       set->format[i].name);
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, where, todo, "'%.60s' is no format of a clock",
                        name);
}

enum sh_status sh_clock_setup_find(const char *name,
                                   const char *rounds,
                                   const char *where,
                                   struct sh_round_format *out,
                                   struct sh_error *err)
{
    struct sh_round_format_set set = sh_round_format_default();
    enum sh_status status = rounds == NULL ? SH_OK : sh_round_format_read(rounds, &set, err);
    if (status != SH_OK) {
        return status == SH_ERR_ARGUMENT ? SH_ERR_FORMAT : status; /* of the file */
    }
    const struct sh_round_format *found = sh_round_format_find(&set, name);
    if (found == NULL) {
        return refuse(&set, name, where, err);
    }
    *out = *found;
    return SH_OK;
}

enum sh_status sh_clock_setup_set(struct sh_round_format *format,
                                  const char *setting,
                                  const char *where,
                                  struct sh_error *err)
{
    char key[32];
    const char *sign = strchr(setting, '=');
    if (sign == NULL || (size_t)(sign - setting) >= sizeof key) {
        return sh_error_set(err, SH_ERR_ARGUMENT, where, "write KEY=VALUE, shooting_s=100 say",
                            "'%.60s' is no setting", setting);
    }
    (void)snprintf(key, sizeof key, "%.*s", (int)(sign - setting), setting);
    return sh_round_format_set_value(format, key, sign + 1, where, err) == SH_OK
               ? SH_OK
               : SH_ERR_ARGUMENT;
}
