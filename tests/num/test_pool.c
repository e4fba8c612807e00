/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The pool: every piece once, the same bits and the same error for any number of threads, and a whole beginning when
    it is stopped. */
#include "num/num.h"

#include <criterion/criterion.h>
#include <string.h>

enum { PIECES = 997 };

typedef struct job {
    double made[PIECES];
    int times[PIECES];
    size_t bad_from; /* pieces from here on fail, those 3 apart */
    size_t stop_at;
    int *workspaces_used;
} job;

static kp_status piece(size_t index, void *workspace, void *context, kp_error *error)
{
    job *j = context;
    kp_random random;
    kp_random_seed(&random, kp_random_mix(2385, 7, index, 3));
    double sum = 0;
    for (size_t i = 0; i < 50 + index % 400; i++) {
        sum += kp_random_normal(&random, 0.13, 2.9);
    }
    j->made[index] = sum;
    j->times[index]++;
    if (workspace != NULL) {
        (*(int *)workspace)++;
    }
    if (index >= j->bad_from && index % 3 == 1) {
        return kp_error_set(error, KP_NO_SOLUTION, "piece %zu", index);
    }
    return KP_OK;
}

static bool stop_soon(void *watcher)
{
    job *j = watcher;
    return j->times[j->stop_at] > 0;
}

static void count_progress(size_t done, size_t count, void *watcher)
{
    cr_assert(done <= count);
    (void)watcher;
}

Test(pool, same_bits_for_any_number_of_threads)
{
    static job one, many;
    one.bad_from = many.bad_from = PIECES;
    kp_pool pool = {.threads = 1};
    cr_assert_eq(kp_pool_run(&pool, PIECES, piece, &one, NULL, NULL), KP_OK);
    for (size_t threads = 2; threads <= 5; threads++) {
        memset(&many, 0, sizeof many);
        many.bad_from = PIECES;
        int counts[5] = {0};
        void *workspaces[5] = {&counts[0], &counts[1], &counts[2], &counts[3], &counts[4]};
        pool = (kp_pool){.threads = threads, .workspaces = workspaces, .progress = count_progress};
        size_t completed = 0;
        cr_assert_eq(kp_pool_run(&pool, PIECES, piece, &many, &completed, NULL), KP_OK);
        cr_assert_eq(completed, (size_t)PIECES);
        cr_assert_eq(memcmp(one.made, many.made, sizeof one.made), 0);
        int all = 0;
        for (size_t i = 0; i < threads; i++) {
            all += counts[i];
        }
        cr_assert_eq(all, PIECES);
        for (size_t i = 0; i < PIECES; i++) {
            cr_assert_eq(many.times[i], 1);
        }
    }
    cr_assert_neq(one.made[3], one.made[4]);
}

Test(pool, the_lowest_failing_piece_speaks)
{
    for (size_t threads = 1; threads <= 4; threads++) {
        static job j;
        memset(&j, 0, sizeof j);
        j.bad_from = 401;
        kp_error error = {0};
        size_t completed = 0;
        kp_pool pool = {.threads = threads};
        cr_assert_eq(kp_pool_run(&pool, PIECES, piece, &j, &completed, &error), KP_NO_SOLUTION);
        cr_assert_str_eq(error.message, "piece 403");
        cr_assert_eq(completed, (size_t)403);
    }
}

Test(pool, a_stop_leaves_a_whole_beginning)
{
    static job j;
    j.bad_from = PIECES;
    j.stop_at = 300;
    kp_error error = {0};
    size_t completed = 0;
    kp_pool pool = {.threads = 1, .stop = stop_soon, .watcher = &j};
    cr_assert_eq(kp_pool_run(&pool, PIECES, piece, &j, &completed, &error), KP_INTERRUPTED);
    cr_assert_eq(completed, (size_t)301);
    for (size_t i = 0; i < PIECES; i++) {
        cr_assert_eq(j.times[i], i < completed ? 1 : 0);
    }
    pool.threads = KP_MAX_THREADS + 1;
    cr_assert_eq(kp_pool_run(&pool, PIECES, piece, &j, &completed, &error), KP_OUT_OF_RANGE);
    pool = (kp_pool){.threads = 3};
    cr_assert_eq(kp_pool_run(&pool, 0, piece, &j, &completed, &error), KP_OK);
    cr_assert_eq(completed, (size_t)0);
}
