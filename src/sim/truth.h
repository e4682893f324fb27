/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_TRUTH_H
#define SH_SIM_TRUTH_H

#include <stdbool.h>
#include <stddef.h>

/*
 * What truly happened in one simulated draw, with the names of the contract, in seconds of the
 * session's clock. A plain value; sim/session_draw.h fills it.
 */

enum sh_truth_kind { SH_TRUTH_SHOT, SH_TRUTH_LET_DOWN };

/* What does not apply is 0: has_... and kind say what does. */
struct sh_truth {
    size_t n; /* 1 for the session's first draw */
    enum sh_truth_kind kind;
    unsigned faults; /* sh_archer_fault, or-ed */
    double end;      /* 1 for the session's first end */
    double draw_start_s;
    double full_draw_s;
    bool has_clicker;          /* it fell before the release */
    double clicker_contact_s;  /* the contact opens: the strip leaves the arrow */
    double clicker_blow_s;     /* its blow reaches the riser */
    double clicker_sound_s;    /* and the microphone */
    double release_s;          /* of a shot */
    double let_down_s;         /* of a let-down */
    double hold_time_s;        /* of a shot */
    double clicker_reaction_s; /* release - contact; of a shot with clicker */
    bool has_setup;            /* a clock or an earlier release to count from */
    double setup_time_s;
    bool has_clock; /* a clock was running, or had run out */
    double time_left_draw_s;
    double time_left_release_s; /* of a shot */
    double expansion_m;         /* put in by the archer */
    double creep_m;
    double flinch_m;
    double flinch_s; /* where flinch_m is above 0 */
    double collapse_m;
    double ring_hz; /* of a shot */
    double ring_damping;
    double finger_share[3];        /* index, middle, ring; median over the hold of a shot */
    double finger_share_change[3]; /* last 0.1 s less first 0.5 s of the hold */
    double finger_release_s[3];    /* relative to release_s */
    double finger_peak_n[3];       /* from draw start to release or let-down, 20 ms mean */
    double finger_impulse_n_s[3];  /* over the same time */
    double finger_sum_ratio;       /* of the fingers' sum to the string's force */
    bool has_finger_slide;
    double finger_slide_s;
};

#endif
