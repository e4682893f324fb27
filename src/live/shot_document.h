/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_SHOT_DOCUMENT_H
#define SH_LIVE_SHOT_DOCUMENT_H

#include <stdbool.h>

#include "base/text.h"
#include "finding/analysis.h"

/*
 * Shots as the page lists them (docs/live.md, SHOT): the object of docs/machine-output.md with
 * what people added. Failures stay in text->status; a document that failed holds a part. Any
 * thread. Test of all: tests/live/test_shot_document.c.
 */

/* One shot. Borrowed. */
struct sh_shot_document {
    const struct sh_shot_record *record;
    bool has_score;
    double score;
    const struct sh_mark *marks; /* [n_marks]; notes that name the shot are its own */
    size_t n_marks;
    /* Appends one plain sentence; what comes behind its first line is left out. */
    void (*say)(const struct sh_shot_record *record, struct sh_text *text);
};

/* Appends one SHOT. Cost: some 400 numbers. */
void sh_shot_document_write(const struct sh_shot_document *document, struct sh_text *text);

/* All shots of a recording. Borrowed. */
struct sh_shot_document_list {
    unsigned id;
    const struct sh_session *session;   /* who, when, tags, marks */
    const struct sh_analysis *analysis; /* shots; its recording is the name */
    bool is_final;                      /* of the second pass */
    void (*say)(const struct sh_shot_record *record, struct sh_text *text); /* as above */
};

/* Appends {"id", "name", "athlete", "started", "tags", "is_final", "shots", "marks"}. */
void sh_shot_document_write_list(const struct sh_shot_document_list *list,
                                 struct sh_text *text);

/* Appends the tags of a recording, {"name": "value", ...}. */
void sh_shot_document_write_tags(const struct sh_session *session, struct sh_text *text);

/* Appends one MARK as it stands in recording.json; false, nothing appended, for a kind that
 * this version does not know. */
bool sh_shot_document_write_mark(const struct sh_mark *mark, struct sh_text *text);

#endif
