/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_HISTORY_INDEX_SCHEMA_H
#define SH_HISTORY_INDEX_SCHEMA_H

#include "base/text.h"
#include "measure/catalog.h"
#include "shot/shot.h"

/*
 * The tables of the index as SQL, made from the catalogue of measures, so that a new measure
 * needs nothing here but a new SH_INDEX_VERSION. Test: tests/history/test_index_schema.c.
 */

/* Columns of a shot's row that come before those of events and measures. */
#define SH_INDEX_SCHEMA_HEAD_COLUMNS 8

/* Writes the statements that make all tables. */
void sh_index_schema_format(struct sh_text *sql);

/* Writes the insertion of one shot: all columns in their order, one parameter each. */
void sh_index_schema_format_insert(struct sh_text *sql);

/*
 * Writes the column of part of a measure: the key of docs/machine-output.md, with "_1" and so
 * on where it is a list: "finger_share_u_3".
 */
void sh_index_schema_format_column(enum sh_measure measure,
                                   size_t part,
                                   enum sh_catalog_suffix suffix,
                                   struct sh_text *sql);

#endif
