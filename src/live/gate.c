/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/gate.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static enum sh_status renew_code(struct sh_gate *gate)
{
    enum sh_status status = sh_secret_make_code(&gate->source, gate->code);
    gate->n_wrong = 0;
    gate->n_codes += status == SH_OK ? 1 : 0;
    return status;
}

enum sh_status sh_gate_init(struct sh_gate *gate, const struct sh_secret_source *source)
{
    *gate = (struct sh_gate){.source = *source};
    return renew_code(gate);
}

/* What is known of an address; a place for it where nothing is. */
static struct sh_gate_address *
find_address(struct sh_gate *gate, const char *address, double now_s)
{
    struct sh_gate_address *oldest = &gate->address[0];
    for (size_t i = 0; i < SH_GATE_ADDRESSES; i++) {
        struct sh_gate_address *known = &gate->address[i];
        if (known->address[0] != '\0' && now_s - known->tried_s > SH_GATE_FORGET_S) {
            *known = (struct sh_gate_address){.tried_s = (double)-INFINITY};
        }
        if (strcmp(known->address, address) == 0) {
            return known;
        }
        if (oldest->address[0] != '\0' &&
            (known->address[0] == '\0' || known->tried_s < oldest->tried_s)) {
            oldest = known;
        }
    }
    *oldest = (struct sh_gate_address){.tried_s = now_s};
    (void)snprintf(oldest->address, sizeof oldest->address, "%s", address);
    return oldest;
}

static enum sh_status
note_wrong(struct sh_gate *gate, struct sh_gate_address *address, double now_s)
{
    address->n_wrong++;
    address->tried_s = now_s;
    if (address->n_wrong > SH_GATE_FREE_TRIES) {
        const double wait_s = ldexp(1.0, (int)(address->n_wrong - SH_GATE_FREE_TRIES));
        address->until_s = now_s + fmin(wait_s, SH_GATE_WAIT_MAX_S);
    }
    gate->n_wrong++;
    if (gate->n_wrong < SH_GATE_CODE_TRIES) {
        return SH_OK;
    }
    gate->until_s = now_s + SH_GATE_PAUSE_S;
    return renew_code(gate);
}

static enum sh_status
admit(struct sh_gate *gate, double now_s, char token[SH_SECRET_TOKEN_BYTES])
{
    struct sh_gate_session *place = &gate->session[0];
    for (size_t i = 1; i < SH_GATE_SESSIONS_MAX && place->token[0] != '\0'; i++) {
        struct sh_gate_session *session = &gate->session[i];
        if (session->token[0] == '\0' || session->used_s < place->used_s) {
            place = session;
        }
    }
    enum sh_status status = sh_secret_make_token(&gate->source, token);
    if (status == SH_OK) {
        memcpy(place->token, token, SH_SECRET_TOKEN_BYTES);
        place->used_s = now_s;
    }
    return status;
}

enum sh_status sh_gate_try(struct sh_gate *gate,
                           const char *address,
                           const char *code,
                           double now_s,
                           struct sh_gate_verdict *out)
{
    struct sh_gate_address *known = find_address(gate, address, now_s);
    const double until_s = fmax(gate->until_s, known->until_s);
    *out = (struct sh_gate_verdict){.answer = SH_GATE_WRONG};
    if (now_s < until_s) {
        out->answer = SH_GATE_WAIT;
        out->wait_s = until_s - now_s;
        return SH_OK;
    }
    if (!sh_secret_is_same(gate->code, code)) {
        return note_wrong(gate, known, now_s);
    }
    enum sh_status status = admit(gate, now_s, out->token);
    if (status == SH_OK) {
        *known = (struct sh_gate_address){.tried_s = (double)-INFINITY};
        out->answer = SH_GATE_ADMITTED;
    }
    return status;
}

bool sh_gate_is_known(struct sh_gate *gate, const char *token, double now_s)
{
    bool is_known = false;
    for (size_t i = 0; i < SH_GATE_SESSIONS_MAX; i++) {
        struct sh_gate_session *session = &gate->session[i];
        if (session->token[0] == '\0') {
            continue;
        }
        if (now_s - session->used_s > SH_GATE_SESSION_S) {
            *session = (struct sh_gate_session){0};
        } else if (sh_secret_is_same(session->token, token)) {
            session->used_s = now_s;
            is_known = true;
        }
    }
    return is_known;
}
