/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_GATE_H
#define SH_LIVE_GATE_H

#include "live/secret.h"

/*
 * Who may come in from the network: whoever types the code that the terminal shows gets a
 * token, which then stands for it.
 *
 * Guessing: an address may be wrong SH_GATE_FREE_TRIES times; after that each wrong code
 * doubles the time during which it is not even looked at (the right one neither), up to
 * SH_GATE_WAIT_MAX_S. After SH_GATE_CODE_TRIES wrong codes from all addresses together there is
 * a new code, and nobody is looked at for SH_GATE_PAUSE_S: from however many addresses, a guess
 * hits with a probability of 3 in 100,000 a minute at the most.
 *
 * A plain value without heap; one thread at a time. Times are seconds of any clock that only
 * goes up. Test: tests/live/test_gate.c.
 */
#define SH_GATE_FREE_TRIES    3u
#define SH_GATE_WAIT_MAX_S    300.0
#define SH_GATE_CODE_TRIES    30u
#define SH_GATE_PAUSE_S       60.0
#define SH_GATE_FORGET_S      3600.0  /* wrong codes of an address */
#define SH_GATE_SESSION_S     43200.0 /* a token that is not used for so long is no longer one */
#define SH_GATE_SESSIONS_MAX  32u     /* when full, the one unused for longest goes */
#define SH_GATE_ADDRESSES     256u    /* the same */
#define SH_GATE_ADDRESS_BYTES 48u

struct sh_gate_session {
    char token[SH_SECRET_TOKEN_BYTES]; /* "": none */
    double used_s;
};

struct sh_gate_address {
    char address[SH_GATE_ADDRESS_BYTES]; /* "": none */
    unsigned n_wrong;
    double until_s; /* it is not looked at before */
    double tried_s;
};

struct sh_gate {
    struct sh_secret_source source;
    char code[SH_SECRET_CODE_BYTES];
    unsigned n_codes; /* so far: a new one is to be shown when this has gone up */
    unsigned n_wrong; /* of this code, all addresses */
    double until_s;   /* nobody is looked at before */
    struct sh_gate_session session[SH_GATE_SESSIONS_MAX];
    struct sh_gate_address address[SH_GATE_ADDRESSES];
};

enum sh_gate_answer {
    SH_GATE_ADMITTED, /* token is set */
    SH_GATE_WRONG,
    SH_GATE_WAIT /* not looked at: again after wait_s */
};

struct sh_gate_verdict {
    enum sh_gate_answer answer;
    double wait_s;
    char token[SH_SECRET_TOKEN_BYTES];
};

/* Sets the gate up with a first code. Copies source. The source's status. */
enum sh_status sh_gate_init(struct sh_gate *gate, const struct sh_secret_source *source);

/* Somebody at address gives a code. The source's status. Cost: O(addresses). */
enum sh_status sh_gate_try(struct sh_gate *gate,
                           const char *address,
                           const char *code,
                           double now_s,
                           struct sh_gate_verdict *out);

/* Is it a token that was given out and is in use? It then is for SH_GATE_SESSION_S more. */
bool sh_gate_is_known(struct sh_gate *gate, const char *token, double now_s);

#endif
