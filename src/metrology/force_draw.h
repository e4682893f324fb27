/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_FORCE_DRAW_H
#define SH_METROLOGY_FORCE_DRAW_H

#include <stdbool.h>
#include <stddef.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * A bow's figures from its force-draw table: force at draw lengths, with the draw length as the
 * trade gives it, from the pivot point of the grip to the string and 1 3/4 in more.
 * Test: tests/metrology/test_force_draw.c.
 */

#define SH_FORCE_DRAW_ROWS_MIN 6u
#define SH_FORCE_DRAW_ROWS_MAX 256u
#define SH_FORCE_DRAW_PIVOT_M  (1.75 * 0.0254) /* pivot point to the trade's mark */

struct sh_force_draw_row {
    double draw_m;  /* pivot point to string, without the 1 3/4 in */
    double force_n; /* 0 or more */
};

struct sh_force_draw_config {
    double at_m;        /* pivot point to string at the archer's full draw */
    double draw_u_m;    /* standard uncertainty of one draw length */
    double force_ratio; /* standard uncertainty common to all forces, as a share */
};

struct sh_force_draw {
    struct sh_quantity weight_n;          /* at the archer's full draw */
    struct sh_quantity stiffness_n_per_m; /* slope there */
    struct sh_quantity energy_j;          /* from the table's first draw to the archer's */
    double residual_sd_n;                 /* of the forces about the fit near full draw */
    size_t n_near;                        /* rows in that fit */
    bool is_bent; /* a straight line would not do there (F test, p < 0.05) */
};

/*
 * Weight and slope: a parabola through the rows in the last 40 % of the travel (six at least)
 * by least squares, at the archer's draw; a cubic where an F test asks for it (p < 0.05), else
 * what the cubic would give instead counts as the half width of a rectangle. Energy: trapezia
 * over the rows, the last to the archer's draw; its uncertainty from the rows' scatter, half
 * the difference to every second row as the rule's own error, the archer's draw and the common
 * share. JCGM 100:2008, 5.1 and, for few rows, G.3.
 *
 * Rows by rising draw. SH_ERR_ARGUMENT: too many rows, not rising, a force below 0, config out
 * of range. SH_ERR_NOT_FINITE. SH_ERR_SHORT: fewer than SH_FORCE_DRAW_ROWS_MIN.
 * SH_ERR_NOT_FOUND: the archer's draw is before the middle of the table or more than one step
 * beyond its end. SH_ERR_SINGULAR: the slope comes out as 0 or below. Any thread.
 */
enum sh_status sh_force_draw_solve(const struct sh_force_draw_row *rows,
                                   size_t n,
                                   const struct sh_force_draw_config *config,
                                   struct sh_force_draw *out);

#endif
