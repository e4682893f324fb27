/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_CATALOG_H
#define SH_MEASURE_CATALOG_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"
#include "recording/session.h"

/*
 * The table of all measures of a shot, in the order of docs/definitions.md, and the plain
 * struct that holds them. Keys, titles and parts are made from this table alone.
 * Test of all: tests/measure/test_catalog.c.
 */

/* What the parts of a measure stand for. */
enum sh_parts {
    SH_PARTS_ONE,     /* one value */
    SH_PARTS_FINGERS, /* index, middle, ring */
    SH_PARTS_BANDS    /* 2-4, 4-8, 8-12, 12-25 Hz */
};

#define SH_PARTS_ONE_COUNT     1
#define SH_PARTS_FINGERS_COUNT 3
#define SH_PARTS_BANDS_COUNT   4

/* name (SH_MEASURE_...), stem of the key, unit in the key, unit for people, parts, title */
#define SH_MEASURE_LIST(X)                                                                     \
    X(SETUP_TIME, "setup_time", "s", "s", ONE, "set-up")                                       \
    X(TIME_LEFT_DRAW, "time_left_draw", "s", "s", ONE, "time left at draw start")              \
    X(TIME_LEFT_RELEASE, "time_left_release", "s", "s", ONE, "time left at release")           \
    X(DRAW_TIME, "draw_time", "s", "s", ONE, "draw time")                                      \
    X(HOLD_TIME, "hold_time", "s", "s", ONE, "hold time")                                      \
    X(EXPANSION_TIME, "expansion_time", "s", "s", ONE, "expansion time")                       \
    X(EXPANSION, "expansion", "m", "m", ONE, "expansion")                                      \
    X(CLICKER_REACTION, "clicker_reaction", "s", "s", ONE, "clicker reaction")                 \
    X(HOLD_FORCE, "hold_force", "n", "N", ONE, "hold force")                                   \
    X(PEAK_FORCE, "peak_force", "n", "N", ONE, "peak force")                                   \
    X(RELEASE_FORCE, "release_force", "n", "N", ONE, "release force")                          \
    X(CREEP_FORCE, "creep", "n", "N", ONE, "creep (force)")                                    \
    X(CREEP_LENGTH, "creep", "m", "m", ONE, "creep (length)")                                  \
    X(CREEP_RATE, "creep_rate", "n_per_s", "N/s", ONE, "creep rate before the click")          \
    X(COLLAPSE, "collapse", "n", "N", ONE, "collapse")                                         \
    X(FLINCH_FORCE, "flinch", "n", "N", ONE, "flinch (force)")                                 \
    X(FLINCH_TIME, "flinch", "s", "s", ONE, "flinch (time)")                                   \
    X(TREMOR_RMS, "tremor_rms", "n", "N", ONE, "tremor of the force")                          \
    X(TREMOR_PEAK, "tremor_peak", "hz", "Hz", ONE, "tremor frequency of the force")            \
    X(TREMOR_BAND, "tremor_band", "n", "N", BANDS, "tremor of the force by band")              \
    X(BOW_TREMOR_RMS, "bow_tremor_rms", "m_s2", "m/s²", ONE, "tremor of the bow")              \
    X(BOW_TREMOR_PEAK, "bow_tremor_peak", "hz", "Hz", ONE, "tremor frequency of the bow")      \
    X(BOW_TREMOR_BAND, "bow_tremor_band", "m_s2", "m/s²", BANDS, "tremor of the bow by band")  \
    X(RING, "ring", "hz", "Hz", ONE, "ring frequency of the bow")                              \
    X(RING_DAMPING, "ring_damping", "", "1", ONE, "damping ratio of the bow")                  \
    X(VIBRATION_PEAK, "vibration_peak", "m_s2", "m/s²", ONE, "vibration peak")                 \
    X(FINGER_SHARE, "finger_share", "", "1", FINGERS, "finger share")                          \
    X(FINGER_SHARE_CHANGE, "finger_share_change", "", "1", FINGERS, "change of finger share")  \
    X(FINGER_IMPULSE, "finger_impulse", "n_s", "N s", FINGERS, "finger impulse")               \
    X(FINGER_PEAK, "finger_peak", "n", "N", FINGERS, "finger peak force")                      \
    X(FINGER_LOAD_RATE, "finger_load_rate", "n_per_s", "N/s", FINGERS, "finger load rate")     \
    X(FINGER_SLIDE, "finger_slide", "s", "s", ONE, "start of the ring finger's slide")         \
    X(FINGER_RELEASE_SPREAD, "finger_release_spread", "s", "s", ONE, "spread of the fingers")  \
    X(HAND_VIBRATION, "hand_vibration", "m_s2", "m/s²", ONE, "vibration of the bow hand")      \
    X(FINGER_RELEASE, "finger_release", "s", "s", FINGERS, "finger release")

enum sh_measure {
#define X(name, stem, unit, symbol, parts, title) SH_MEASURE_##name,
    SH_MEASURE_LIST(X)
#undef X
        SH_MEASURE_COUNT
};

/* Where the parts of a measure stand in sh_measures.quantity: _FIRST to _LAST. */
enum sh_measure_place {
#define X(name, stem, unit, symbol, parts, title)                                              \
    SH_MEASURE_##name##_FIRST,                                                                 \
        SH_MEASURE_##name##_LAST = SH_MEASURE_##name##_FIRST + SH_PARTS_##parts##_COUNT - 1,
    SH_MEASURE_LIST(X)
#undef X
        SH_MEASURE_PLACES
};

/*
 * All measures of one shot. All zero: nothing worked out. The quantities below the list have no
 * key of their own; the findings rest on them.
 */
struct sh_measures {
    struct sh_quantity quantity[SH_MEASURE_PLACES];
    enum sh_answer vibration_clipped; /* YES: vibration_peak is a lower bound */
    struct sh_quantity steady_rms_n;  /* force, 2-25 Hz, full draw + 0.35 s to c - 0.4 s */
    struct sh_quantity
        tremor_first_third_n; /* force, 2-25 Hz, first third of tremor_rms's span */
    struct sh_quantity tremor_last_third_n; /* last third of it */
    struct sh_quantity creep_bias_n;     /* what noise alone would add to creep_n on average */
    struct sh_quantity finger_sum_ratio; /* of the fingers' sum to the string's force */
};

/* One row of the table; strings are static. */
struct sh_catalog_row {
    const char *name;   /* "HOLD_TIME" */
    const char *stem;   /* "hold_time" */
    const char *unit;   /* in the key: "m_s2", "" where the unit is 1 */
    const char *symbol; /* for people: "m/s²", "1" */
    enum sh_parts parts;
    const char *title; /* for people, lower case: "hold time" */
};

/* What a key stands for: the value, its standard uncertainty, its 95 % limits. */
enum sh_catalog_suffix {
    SH_CATALOG_VALUE,
    SH_CATALOG_U,
    SH_CATALOG_LO,
    SH_CATALOG_HI,
    SH_CATALOG_SUFFIX_COUNT
};

#define SH_CATALOG_KEY_BYTES   40u
#define SH_CATALOG_CLIPPED_KEY "vibration_clipped" /* stands behind vibration_peak's keys */

/* The row of a measure, static; NULL where measure is none. Any thread. */
const struct sh_catalog_row *sh_catalog_get_row(enum sh_measure measure);

/* Number of parts, 1, 3 or 4; 0 where measure is none. Any thread. */
size_t sh_catalog_get_parts(enum sh_measure measure);

/*
 * Name of a part: "index", "middle", "ring", or "2-4 Hz" ... ; "" of a single value and where
 * there is no such part. Static. Any thread.
 */
const char *sh_catalog_get_part_name(enum sh_measure measure, size_t part);

/*
 * Writes the key: "hold_time_s", "hold_time_u_s", "bow_tremor_rms_lo_m_s2", "finger_share_u".
 * key is "" where measure or suffix is none. Any thread.
 */
void sh_catalog_key(enum sh_measure measure,
                    enum sh_catalog_suffix suffix,
                    char key[SH_CATALOG_KEY_BYTES]);

/* Finds the measure whose value has that key ("creep_n"); false, *out untouched: none. */
bool sh_catalog_find(const char *key, enum sh_measure *out);

/*
 * Part of a measure (part from 0, below sh_catalog_get_parts); NULL where there is none. The
 * pointer is into measures. Any thread.
 */
const struct sh_quantity *
sh_catalog_get(const struct sh_measures *measures, enum sh_measure measure, size_t part);
struct sh_quantity *
sh_catalog_get_mutable(struct sh_measures *measures, enum sh_measure measure, size_t part);

#endif
