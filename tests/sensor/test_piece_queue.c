/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/piece_queue.h"

#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/scarce_heap.h"

#define HEAD SH_PIECE_QUEUE_HEAD_BYTES

static struct sh_piece_queue open_queue(size_t size_bytes)
{
    struct sh_piece_queue queue;
    assert_int_equal(sh_piece_queue_open(&queue, size_bytes), SH_OK);
    return queue;
}

/* Bytes that count up from first. */
static void fill(uint8_t *bytes, size_t n_bytes, size_t first)
{
    for (size_t i = 0; i < n_bytes; i++) {
        bytes[i] = (uint8_t)(first + i);
    }
}

static enum sh_status push(struct sh_piece_queue *queue, size_t n_bytes, size_t first)
{
    uint8_t bytes[256];
    fill(bytes, n_bytes, first);
    const struct sh_piece piece = {.n_bytes = n_bytes,
                                   .host_time_us = (int64_t)first,
                                   .listened_us = -(int64_t)first,
                                   .follows_loss = first % 2 == 1};
    return sh_piece_queue_push(queue, &piece, bytes);
}

static void expect(struct sh_piece_queue *queue, size_t n_bytes, size_t first)
{
    uint8_t got[256];
    uint8_t expected[256];
    struct sh_piece piece;
    fill(expected, n_bytes, first);
    assert_true(sh_piece_queue_find(queue, got, sizeof got, &piece));
    assert_int_equal(piece.n_bytes, n_bytes);
    assert_int_equal(piece.host_time_us, first);
    assert_int_equal(piece.listened_us, -(int64_t)first);
    assert_int_equal(piece.follows_loss, first % 2 == 1);
    assert_memory_equal(got, expected, n_bytes);
}

static void test_room_at_below_and_above(void **state)
{
    struct sh_piece_queue queue = open_queue(2 * HEAD + 30);
    uint8_t byte = 0;
    struct sh_piece piece;
    assert_false(sh_piece_queue_find(&queue, &byte, 1, &piece));
    assert_int_equal(push(&queue, 10, 1), SH_OK);
    assert_true(sh_piece_queue_has_room(&queue, 20));
    assert_false(sh_piece_queue_has_room(&queue, 21));
    assert_int_equal(push(&queue, 21, 2), SH_ERR_FULL);
    assert_int_equal(push(&queue, 20, 3), SH_OK);
    assert_false(sh_piece_queue_has_room(&queue, 0));
    assert_int_equal(push(&queue, 1, 4), SH_ERR_FULL);
    expect(&queue, 10, 1);
    expect(&queue, 20, 3);
    assert_false(sh_piece_queue_find(&queue, &byte, 1, &piece));
    sh_piece_queue_close(&queue);
    sh_piece_queue_close(&queue);
}

/* What is left of a piece is one with the same times, and nothing was lost before it. */
static void test_a_piece_in_parts(void **state)
{
    struct sh_piece_queue queue = open_queue(HEAD + 100);
    uint8_t got[100];
    uint8_t expected[100];
    struct sh_piece piece;
    fill(expected, 100, 7);
    assert_int_equal(push(&queue, 100, 7), SH_OK);
    for (size_t i = 0; i < 100; i += 9) {
        assert_true(sh_piece_queue_find(&queue, got + i, 9, &piece));
        assert_int_equal(piece.n_bytes, i + 9 <= 100 ? 9 : 1);
        assert_int_equal(piece.host_time_us, 7);
        assert_int_equal(piece.listened_us, -7);
        assert_int_equal(piece.follows_loss, i == 0);
    }
    assert_memory_equal(got, expected, 100);
    assert_false(sh_piece_queue_find(&queue, got, 9, &piece));
    assert_int_equal(queue.n_used_bytes, 0);
    sh_piece_queue_close(&queue);
}

/* Bytes that count up, in at one end and out at the other. */
struct way {
    struct sh_piece_queue queue;
    struct sh_random random;
    uint8_t next_in;
    uint8_t next_out;
    size_t n_passed;
};

static size_t choose_size(struct way *way)
{
    return 1 + (size_t)sh_random_get_below(&way->random, 200);
}

static void push_some(struct way *way)
{
    uint8_t bytes[200];
    const struct sh_piece piece = {.n_bytes = choose_size(way)};
    fill(bytes, piece.n_bytes, way->next_in);
    bool has_room = sh_piece_queue_has_room(&way->queue, piece.n_bytes);
    assert_int_equal(sh_piece_queue_push(&way->queue, &piece, bytes) == SH_OK, has_room);
    way->next_in = (uint8_t)(way->next_in + (has_room ? piece.n_bytes : 0));
}

static void take_some(struct way *way)
{
    uint8_t bytes[200];
    struct sh_piece piece = {0};
    (void)sh_piece_queue_find(&way->queue, bytes, choose_size(way), &piece);
    for (size_t k = 0; k < piece.n_bytes; k++) {
        assert_int_equal(bytes[k], way->next_out);
        way->next_out++;
    }
    way->n_passed += piece.n_bytes;
}

/* Any pieces in, any sizes out, round and round the ring: the bytes are those that went in. */
static void test_bytes_go_round(void **state)
{
    for (size_t size = HEAD + 70; size < 700; size += 37) {
        struct way way = {.queue = open_queue(size)};
        sh_random_init(&way.random, size);
        for (int i = 0; i < 2000; i++) {
            push_some(&way);
            take_some(&way);
            assert_true(way.queue.n_used_bytes <= size);
        }
        assert_true(way.n_passed > 1000);
        sh_piece_queue_close(&way.queue);
    }
}

static void test_without_memory(void **state)
{
    struct sh_piece_queue queue;
    scarce_heap_begin(0);
    enum sh_status status = sh_piece_queue_open(&queue, 100);
    (void)scarce_heap_end();
    assert_int_equal(status, SH_ERR_MEMORY);
    assert_null(queue.ring);
    sh_piece_queue_close(&queue);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_room_at_below_and_above),
        cmocka_unit_test(test_a_piece_in_parts),
        cmocka_unit_test(test_bytes_go_round),
        cmocka_unit_test(test_without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
