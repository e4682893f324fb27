/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_BASE_UNITS_H
#define SH_BASE_UNITS_H

/*
 * Unit factors, all exact by definition: the international pound and inch (1959 agreement) and
 * the standard acceleration of free fall (3rd CGPM, 1901). Multiply to reach SI, divide to
 * leave. Inside the program everything is SI; these are for the edges only.
 */
#define SH_UNITS_G0_M_S2 9.80665
#define SH_UNITS_LB_KG   0.45359237
#define SH_UNITS_LBF_N   4.4482216152605
#define SH_UNITS_KGF_N   9.80665
#define SH_UNITS_INCH_M  0.0254
#define SH_UNITS_GRAM_KG 0.001

#define SH_PI 3.14159265358979323846

#endif
