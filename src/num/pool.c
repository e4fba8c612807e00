/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A pool of threads that hands out pieces of work by number.

   Why the result does not depend on the threads: a piece writes only to its own place. Numbers go out in ascending
   order, so when piece i fails, every piece below i has gone out and is finished before the pool ends. The lowest
   number that fails is therefore the same for any number of threads, and its error is the one returned. The pool asks
   whether to stop before a number goes out, so pieces 0 to completed-1 are whole. */
#include "num/num.h"

#include <pthread.h>
#include <unistd.h>

typedef struct pool_state {
    const kp_pool *pool;
    kp_task task;
    void *context;
    size_t count;
    pthread_mutex_t lock; /* guards what follows */
    size_t next;          /* the number that goes out next; count or more: none */
    size_t done;
    size_t failed_index; /* lowest; count: none */
    bool stopped;
    kp_status status;
    kp_error error; /* of failed_index */
} pool_state;

typedef struct pool_worker {
    pool_state *state;
    void *workspace;
    bool calling; /* the caller's own thread */
} pool_worker;

/* The next number, or false when there is no more to do. */
static bool take(pool_state *state, size_t *index)
{
    bool stop = state->pool->stop != NULL && state->pool->stop(state->pool->watcher);

    pthread_mutex_lock(&state->lock);

    /* No new piece after a failure, a stop, or the last. */
    bool more = state->next < state->count && state->failed_index == state->count && !state->stopped;
    if (more && stop) {
        state->stopped = true;
        more = false;
    }
    if (more) {
        *index = state->next++;
    }
    pthread_mutex_unlock(&state->lock);
    return more;
}

static size_t give_back(pool_state *state, size_t index, kp_status status, const kp_error *error)
{
    pthread_mutex_lock(&state->lock);

    state->done++;
    size_t done = state->done;

    /* Of several failures the lowest index counts, not the first in time. */
    if (status != KP_OK && index < state->failed_index) {
        state->failed_index = index;
        state->status = status;
        state->error = *error;
    }
    pthread_mutex_unlock(&state->lock);
    return done;
}

static void *work(void *argument)
{
    pool_worker *worker = argument;
    pool_state *state = worker->state;

    size_t index;
    while (take(state, &index)) {
        kp_error error = {0};
        kp_status status = state->task(index, worker->workspace, state->context, &error);

        size_t done = give_back(state, index, status, &error);

        /* Progress is shown by the caller's thread alone: it need not be safe for threads. */
        if (worker->calling && state->pool->progress != NULL) {
            state->pool->progress(done, state->count, state->pool->watcher);
        }
    }
    return NULL;
}

size_t kp_pool_threads(size_t asked)
{
    long processors = asked > 0 ? (long)asked : sysconf(_SC_NPROCESSORS_ONLN);

    size_t threads = processors > 0 ? (size_t)processors : 1;
    return threads > KP_MAX_THREADS ? KP_MAX_THREADS : threads;
}

static kp_status outcome(const pool_state *state, size_t *completed, kp_error *error)
{
    bool failed = state->failed_index < state->count;
    if (completed != NULL) {
        *completed = failed ? state->failed_index : state->next;
    }

    if (failed) {
        if (error != NULL) {
            *error = state->error;
        }
        return state->status;
    }
    return state->stopped
               ? kp_error_set(error, KP_INTERRUPTED, "interrupted after %zu of %zu", state->next, state->count)
               : KP_OK;
}

kp_status kp_pool_run(const kp_pool *pool, size_t count, kp_task task, void *context, size_t *completed,
                      kp_error *error)
{
    if (pool->threads > KP_MAX_THREADS) {
        return kp_error_set(error, KP_OUT_OF_RANGE, "%zu threads: at most %d", pool->threads, KP_MAX_THREADS);
    }

    size_t threads = kp_pool_threads(pool->threads);
    pool_state state = {.pool = pool, .task = task, .context = context, .count = count, .failed_index = count};
    if (pthread_mutex_init(&state.lock, NULL) != 0) {
        return kp_error_set(error, KP_SYSTEM, "the system gives no lock for a pool of threads");
    }

    pthread_t handles[KP_MAX_THREADS];
    pool_worker workers[KP_MAX_THREADS];
    size_t started = 0;
    for (size_t i = 0; i < threads; i++) {
        workers[i] = (pool_worker){&state, pool->workspaces != NULL ? pool->workspaces[i] : NULL, i == 0};
    }

    /* No more threads than pieces; when the system gives no more, those that there are do the work. */
    while (started + 1 < threads && started + 1 < count &&
           pthread_create(&handles[started], NULL, work, &workers[started + 1]) == 0) {
        started++;
    }
    work(&workers[0]);

    for (size_t i = 0; i < started; i++) {
        pthread_join(handles[i], NULL);
    }

    pthread_mutex_destroy(&state.lock);
    return outcome(&state, completed, error);
}
