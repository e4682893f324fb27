/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <assert.h>
#include <stdlib.h>
#include <string.h>

#include "app/query.h"
#include "app/shelf_inside.h"
#include "live/trace_document.h"
#include "recording/recording_reader.h"

/* A shot that is being read out of the files. */
struct reading {
    char folder[SH_HOME_PATH_BYTES];
    enum sh_timebase_reading timebase;
    struct sh_shot_record *record; /* owned: a copy */
    struct sh_recording_reader *reader;
};

static enum sh_status copy_shot(struct sh_shelf *shelf,
                                const struct sh_shelf_close_up *wanted,
                                struct reading *out,
                                struct sh_error *err)
{
    enum sh_status status = SH_OK;
    struct sh_shelf_book *book = sh_shelf_hold(shelf, wanted->id, err);
    if (book == NULL) {
        assert(err->status != SH_OK);
        return err->status;
    }
    const struct sh_shot_record *record = sh_shelf_find_shot(book, wanted->n);
    out->record = record != NULL ? malloc(sizeof *record) : NULL;
    if (record == NULL) {
        status = SH_ERR_NOT_FOUND;
        (void)sh_error_set(err, status, book->name, NULL, "there is no draw %u", wanted->n);
    } else if (out->record == NULL) {
        status = SH_ERR_MEMORY;
        (void)sh_error_set(err, status, NULL, NULL, "out of memory");
    } else {
        /* memory behind its findings may never have been touched: it is copied as it is */
        memcpy(out->record, record, sizeof *record);
    }
    memcpy(out->folder, book->folder, sizeof out->folder);
    out->timebase = book->is_running ? SH_TIMEBASE_FORWARD : SH_TIMEBASE_BETWEEN;
    (void)pthread_mutex_unlock(&shelf->lock);
    return status;
}

/* Which channels a query asks for; false: there is no such word. */
static bool find_channels(const char *query, enum sh_trace_channels *channels)
{
    static const char *const names[] = {[SH_TRACE_CHANNELS_ALL] = "all",
                                        [SH_TRACE_CHANNELS_MAIN] = "main",
                                        [SH_TRACE_CHANNELS_OTHERS] = "others"};
    char word[SH_QUERY_WORD_BYTES] = "all";
    (void)sh_query_find_word(query, "channels", word);
    for (int i = SH_TRACE_CHANNELS_ALL; i <= SH_TRACE_CHANNELS_OTHERS; i++) {
        if (strcmp(word, names[i]) == 0) {
            *channels = (enum sh_trace_channels)i;
            return true;
        }
    }
    return false;
}

static enum sh_status write_trace(const struct reading *reading,
                                  const char *query,
                                  struct sh_text *text,
                                  struct sh_error *err)
{
    char word[SH_QUERY_WORD_BYTES] = "release";
    struct sh_trace_document_config config = sh_trace_document_config_default();
    (void)sh_query_find_word(query, "align", word);
    config.align = strcmp(word, "release") == 0     ? SH_EVENT_RELEASE
                   : strcmp(word, "clicker") == 0   ? SH_EVENT_CLICKER
                   : strcmp(word, "full_draw") == 0 ? SH_EVENT_FULL_DRAW
                                                    : SH_EVENT_COUNT;
    config.from_s = sh_query_get_number(query, "from", config.from_s);
    config.until_s = sh_query_get_number(query, "to", config.until_s);
    config.n_points = sh_query_get_count(query, "points", (double)config.n_points);
    config.reading = reading->timebase;
    if (!find_channels(query, &config.channels)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "trace", "channels=all, main or others",
                            "there are no such channels");
    }
    return sh_trace_document_write(reading->reader, reading->record, &config, text, err);
}

static enum sh_status
write_spectrum(const struct reading *reading, struct sh_text *text, struct sh_error *err)
{
    struct sh_shot_spectra *spectra = malloc(sizeof *spectra);
    if (spectra == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status = sh_shot_spectrum_find(reading->reader, reading->record,
                                                  reading->timebase, spectra, err);
    if (status == SH_OK) {
        sh_shot_spectrum_write(reading->record->shot.n, spectra, text);
        status = text->status;
    }
    free(spectra);
    return status;
}

enum sh_status sh_shelf_write_close_up(struct sh_shelf *shelf,
                                       const struct sh_shelf_close_up *wanted,
                                       struct sh_text *text,
                                       struct sh_error *err)
{
    struct reading reading = {.record = NULL};
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    enum sh_status status = copy_shot(shelf, wanted, &reading, err);
    if (status == SH_OK) {
        status = sh_recording_reader_open(reading.folder, &config, &reading.reader, err);
    }
    if (status == SH_OK) {
        status = wanted->query != NULL ? write_trace(&reading, wanted->query, text, err)
                                       : write_spectrum(&reading, text, err);
    }
    sh_recording_reader_close(&reading.reader);
    free(reading.record);
    return status;
}
