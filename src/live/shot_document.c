/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_document.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "live/number_text.h"
#include "recording/mark_json.h"
#include "report/shot_json.h"
#include "series/arrow.h"

static void fail(struct sh_text *text, enum sh_status status)
{
    if (text->status == SH_OK) {
        text->status = status;
    }
}

static int take_piece(const char *bytes, size_t n_bytes, void *context)
{
    struct sh_text *text = context;
    sh_text_write(text, bytes, n_bytes);
    return text->status == SH_OK ? 0 : -1;
}

/* Appends an object without its closing brace. Takes object, NULL for out of memory. */
static void put_open_object(json_t *object, struct sh_text *text)
{
    if (object == NULL || json_dump_callback(object, take_piece, text, JSON_COMPACT) != 0) {
        fail(text, SH_ERR_MEMORY);
    } else {
        text->data[--text->n_bytes] = '\0';
    }
    json_decref(object);
}

/* The first line of what is said. */
static void put_sentence(const struct sh_shot_document *document, struct sh_text *text)
{
    struct sh_text said;
    sh_text_init(&said, 0);
    document->say(document->record, &said);
    if (said.status != SH_OK) {
        fail(text, said.status);
    } else if (said.data == NULL) {
        sh_text_puts(text, "\"\"");
    } else {
        said.data[strcspn(said.data, "\n")] = '\0';
        sh_number_text_put_string(text, said.data);
    }
    sh_text_close(&said);
}

static void put_corrected(const struct sh_shot *shot, struct sh_text *text)
{
    const char *comma = "";
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        if (shot->is_corrected[i]) {
            sh_text_printf(text, "%s\"%s_s\"", comma, sh_shot_event_stem((enum sh_event)i));
            comma = ",";
        }
    }
}

/* Stored analyses do not tell what was corrected; the marks do. */
static bool is_about(const struct sh_mark *mark, enum sh_mark_kind kind, unsigned n)
{
    return mark->kind == kind && mark->shot.is_given && mark->shot.value >= (double)n - 0.5 &&
           mark->shot.value <= (double)n + 0.5;
}

/* The event of a key ("clicker_s"); SH_EVENT_COUNT: none. */
static int find_event(const char *key)
{
    int event = 0;
    while (event < SH_EVENT_COUNT) {
        const char *stem = sh_shot_event_stem((enum sh_event)event);
        if (strncmp(key, stem, strlen(stem)) == 0 && strcmp(key + strlen(stem), "_s") == 0) {
            break;
        }
        event++;
    }
    return event;
}

static struct sh_shot find_corrections(const struct sh_shot_document *document)
{
    struct sh_shot shot = document->record->shot;
    for (size_t i = 0; i < document->n_marks; i++) {
        int event = find_event(document->marks[i].event);
        if (event < SH_EVENT_COUNT &&
            is_about(&document->marks[i], SH_MARK_CORRECTION, shot.n)) {
            shot.is_corrected[event] = true;
        }
    }
    return shot;
}

static void put_notes(const struct sh_shot_document *document, struct sh_text *text)
{
    const char *comma = "";
    for (size_t i = 0; i < document->n_marks; i++) {
        if (is_about(&document->marks[i], SH_MARK_NOTE, document->record->shot.n)) {
            sh_text_puts(text, comma);
            sh_number_text_put_string(text, document->marks[i].text);
            comma = ",";
        }
    }
}

/* The shot with the score that the marks of now give it. */
static json_t *make_shot(const struct sh_shot_document *document)
{
    json_t *shot = sh_shot_json_make(document->record);
    json_t *score = document->has_score ? json_real(document->score) : json_null();
    if (shot == NULL || json_object_set_new(shot, "score", score) != 0) {
        json_decref(shot);
        return NULL;
    }
    return shot;
}

void sh_shot_document_write(const struct sh_shot_document *document, struct sh_text *text)
{
    const struct sh_shot shot = find_corrections(document);
    put_open_object(make_shot(document), text);
    sh_text_puts(text, ",\"sentence\":");
    put_sentence(document, text);
    sh_text_puts(text, ",\"corrected\":[");
    put_corrected(&shot, text);
    sh_text_puts(text, "],\"notes\":[");
    put_notes(document, text);
    sh_text_puts(text, "]}");
}

bool sh_shot_document_write_mark(const struct sh_mark *mark, struct sh_text *text)
{
    struct sh_json_put put = {.status = SH_OK};
    if (mark->kind == SH_MARK_OTHER) {
        return false;
    }
    json_t *object = json_object();
    sh_mark_json_format(&put, object, mark);
    if (put.status != SH_OK) {
        fail(text, put.status);
    }
    put_open_object(object, text);
    sh_text_puts(text, "}");
    return true;
}

void sh_shot_document_write_tags(const struct sh_session *session, struct sh_text *text)
{
    sh_text_puts(text, "{");
    for (size_t i = 0; i < session->n_tags; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put_string(text, session->tags[i].key);
        sh_text_puts(text, ":");
        sh_number_text_put_string(text, session->tags[i].value);
    }
    sh_text_puts(text, "}");
}

static void put_shots(const struct sh_shot_document_list *list,
                      const struct sh_arrow *arrows,
                      struct sh_text *text)
{
    for (size_t i = 0; i < list->analysis->n_shots; i++) {
        const struct sh_shot_document shot = {.record = &list->analysis->shots[i],
                                              .has_score = arrows[i].has_score,
                                              .score = arrows[i].score,
                                              .marks = list->session->marks,
                                              .n_marks = list->session->n_marks,
                                              .say = list->say};
        sh_text_puts(text, i > 0 ? "," : "");
        sh_shot_document_write(&shot, text);
    }
}

static void put_marks(const struct sh_session *session, struct sh_text *text)
{
    const char *comma = "";
    for (size_t i = 0; i < session->n_marks; i++) {
        if (session->marks[i].kind != SH_MARK_OTHER) {
            sh_text_puts(text, comma);
            (void)sh_shot_document_write_mark(&session->marks[i], text);
            comma = ",";
        }
    }
}

void sh_shot_document_write_list(const struct sh_shot_document_list *list, struct sh_text *text)
{
    const struct sh_session *session = list->session;
    struct sh_arrow *arrows = calloc(list->analysis->n_shots + 1, sizeof *arrows);
    if (arrows == NULL) {
        fail(text, SH_ERR_MEMORY);
        return;
    }
    sh_arrow_find_all(list->analysis, session->marks, session->n_marks, arrows);
    sh_text_printf(text, "{\"id\":%u,\"name\":", list->id);
    sh_number_text_put_string(text, list->analysis->recording);
    sh_text_puts(text, ",\"athlete\":");
    sh_number_text_put_string(text, session->athlete);
    sh_text_puts(text, ",\"started\":");
    sh_number_text_put_string(text, session->started);
    sh_text_puts(text, ",\"tags\":");
    sh_shot_document_write_tags(session, text);
    sh_text_printf(text, ",\"is_final\":%s,\"shots\":[", list->is_final ? "true" : "false");
    put_shots(list, arrows, text);
    sh_text_puts(text, "],\"marks\":[");
    put_marks(session, text);
    sh_text_puts(text, "]}");
    free(arrows);
}
