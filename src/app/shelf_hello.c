/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shelf_inside.h"
#include "live/number_text.h"

static void write_channel(size_t stream,
                          const struct sh_stream *about,
                          const struct sh_channel *channel,
                          struct sh_text *text)
{
    const double range[2] = {channel->range_low, channel->range_high};
    sh_text_printf(text, "{\"stream\":%zu,\"role\":\"%s\",\"axis\":", stream,
                   sh_channel_role_name(channel->role));
    sh_number_text_put_name(text, sh_channel_axis_name(channel->axis));
    sh_text_puts(text, ",\"finger\":");
    sh_number_text_put_name(text, sh_channel_finger_name(channel->finger));
    sh_text_puts(text, ",\"unit\":");
    sh_number_text_put_string(text, channel->unit);
    sh_text_puts(text, ",\"rate_hz\":");
    sh_number_text_put(text, about->rate_hz, 9);
    sh_text_puts(text, ",\"range\":");
    if (channel->has_range) {
        sh_number_text_put_list(text, range, 2, 9);
    } else {
        sh_text_puts(text, "null");
    }
    sh_text_puts(text, "}");
}

static void write_channels(const struct sh_session *session, struct sh_text *text)
{
    const char *comma = "";
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_stream *stream = &session->streams[i].stream;
        for (size_t k = 0; k < stream->n_channels; k++) {
            sh_text_puts(text, comma);
            write_channel(i, stream, &stream->channel[k], text);
            comma = ",";
        }
    }
}

static void write_book(const struct sh_shelf_book *book, size_t i, struct sh_text *text)
{
    sh_text_printf(text, "%s{\"id\":%zu,\"name\":", i > 0 ? "," : "", i + 1);
    sh_number_text_put_string(text, book->name);
    sh_text_puts(text, ",\"athlete\":");
    sh_number_text_put_string(text, book->athlete);
    sh_text_puts(text, ",\"started\":");
    sh_number_text_put_string(text, book->started);
    sh_text_printf(text, ",\"n_shots\":%zu,\"is_running\":%s}", book->n_shots,
                   book->is_running ? "true" : "false");
}

void sh_shelf_write_hello(struct sh_shelf *shelf, unsigned current, struct sh_text *text)
{
    struct sh_error unread = {.status = SH_OK}; /* its channels are not known then */
    bool is_loaded = current > 0 && sh_shelf_load(shelf, current, &unread) == SH_OK;
    (void)pthread_mutex_lock(&shelf->lock);
    sh_text_puts(text, ",\"recordings\":[");
    for (size_t i = 0; i < shelf->n_books; i++) {
        write_book(shelf->books[i], i, text);
    }
    sh_text_puts(text, "],\"current\":");
    if (current > 0) {
        sh_text_printf(text, "%u", current);
    } else {
        sh_text_puts(text, "null");
    }
    sh_text_puts(text, ",\"channels\":[");
    if (is_loaded) {
        write_channels(&sh_shelf_find(shelf, current)->session, text);
    }
    sh_text_puts(text, "]");
    (void)pthread_mutex_unlock(&shelf->lock);
}
