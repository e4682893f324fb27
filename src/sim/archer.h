/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_ARCHER_H
#define SH_SIM_ARCHER_H

#include <stdbool.h>
#include <stddef.h>

#include "signal/random.h"

/*
 * An archer: what the string hand will do in one shot, drawn from a random generator. Times are
 * seconds from the moment at which the hand takes up the string. The ranges are assumptions of
 * the simulation, not measurements. A plan is a plain value. Test: tests/sim/test_archer.c.
 */

#define SH_ARCHER_TREMOR_LINES 12u

/* What goes wrong, as bits; the names are those of the contract's findings. */
enum sh_archer_fault {
    SH_ARCHER_CREEP = 1,
    SH_ARCHER_FLINCH = 2,
    SH_ARCHER_COLLAPSE = 4,
    SH_ARCHER_EARLY_LOOSE = 8,
    SH_ARCHER_ANTICIPATED_CLICKER = 16,
    SH_ARCHER_LATE_REACTION = 32,
    SH_ARCHER_LONG_HOLD = 64,
    SH_ARCHER_SHORT_HOLD = 128,
    SH_ARCHER_LET_DOWN = 256,
    SH_ARCHER_FINGER_SLIDE = 512, /* acted out by finger_signal */
    SH_ARCHER_HALF_DRAW = 1024    /* no finding: drawn half, then taken down */
};

#define SH_ARCHER_FAULTS 10u /* that have a name: all but half draws */

/* One line of the narrow-band tremor: force = amplitude * sin(2 pi hz t + phase). */
struct sh_archer_line {
    double hz;
    double amplitude_n;
    double phase_rad;
};

struct sh_archer_plan {
    unsigned faults;      /* sh_archer_fault, or-ed */
    double preload_ratio; /* force at set-up, of that at full draw, 0.05 to 0.2 */
    double preload_end_s; /* the set-up is reached */
    double draw_begin_s;  /* the main draw begins */
    double pause_ratio;   /* travel of the pause in mid-draw, of that at full draw */
    double pause_begin_s; /* begin and end of that pause; equal where there is none */
    double pause_end_s;
    double anchor_s;        /* the hand has reached the anchor */
    double short_ratio;     /* of the travel at full draw, not drawn at all; 0 but half drawn */
    double expansion_m;     /* still to go at the anchor */
    bool has_clicker;       /* false: loosed or let down before it fell */
    double expansion_end_s; /* full length: the clicker falls, if it is waited for */
    double loose_s;         /* the string begins to leave, or the let-down begins */
    double creep_m;         /* deepest dip of the slow give between anchor and full length */
    double flinch_m;        /* depth of the quick dip, centred on flinch_s */
    double flinch_s;
    double collapse_m; /* given away between clicker and loose */
    double drop_s;     /* length of the fall of force, 0.003 to 0.015 */
    double drop_bend;  /* 0: half a cosine; above, it begins later, below, sooner */
    double let_down_s; /* length of the let-down */
    double sway_n;     /* amplitude and frequency of the slow sway */
    double sway_hz;
    double tremor_rms_n; /* of the lines together */
    struct sh_archer_line tremor[SH_ARCHER_TREMOR_LINES];
};

/*
 * Draws the plan of one shot with the given faults (0: a clean shot). SH_ARCHER_LET_DOWN and
 * SH_ARCHER_EARLY_LOOSE leave the clicker standing; what needs a fallen clicker (collapse,
 * reactions, flinch) is then dropped from plan->faults. An anticipated reaction goes before
 * a late one, a short hold before a long one and before a slide, which needs the time. A half
 * draw is a let-down from 45 to 75 % of the travel, reached without a pause. Takes
 * the same count of random numbers only for the same faults.
 */
void sh_archer_plan_draw(struct sh_archer_plan *plan,
                         unsigned faults,
                         struct sh_random *random);

/* Name of one fault as the contract's findings have it ("early-loose"); "" for none. Static. */
const char *sh_archer_fault_name(enum sh_archer_fault fault);

/* The fault of a name; false where there is none of that name, *out untouched. */
bool sh_archer_fault_find(const char *name, enum sh_archer_fault *out);

#endif
