/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Tables of random stacks, every other one coarse, have the same bytes on 1, 2 and 3 threads. Oracle: the run on one
   thread. */
#include "kneepoint/lift.h"
#include "kneepoint/stack.h"
#include "num/num.h"
#include "random_stack.h"
#include "sizes.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

static const unsigned long long SEED = 2025112507;
static const double REACH = 3.1e6; /* [Pa] */
enum { TABLES = 200, READINGS = 37, THREADS_MAX = 3 };

/* All that a table can be asked. Every field has 8 bytes, so that equal bytes are equal answers. */
typedef struct reading {
    size_t status;
    double reach, cracking, yields_from;
    size_t yields, yielding_disc;
    kp_lift lift[READINGS];
} reading;

_Static_assert(sizeof(kp_lift) == 6 * sizeof(double) + 2 * sizeof(size_t), "padding would be compared as well");

static kp_status make_table(size_t index, void *workspace, void *context, kp_error *error)
{
    (void)workspace;
    reading *r = (reading *)context + index;
    kp_random random;
    random_stack made;
    kp_random_seed(&random, kp_random_mix(SEED, 0, index, 0));
    random_stack_make(&random, &made);
    kp_lift_table *table = NULL;
    kp_error inner = {0};
    kp_status status =
        (index % 2 == 0 ? kp_lift_table_build : kp_lift_table_build_coarse)(&made.stack, REACH, &table, &inner);
    r->status = (size_t)status;
    if (status == KP_NOT_MODELLED || status == KP_NO_SOLUTION)
        return KP_OK; /* refused on one thread, refused on every number of them */
    if (status == KP_OK) {
        r->reach = kp_lift_table_reach(table);
        r->cracking = kp_lift_table_cracking(table);
        r->yields = kp_lift_table_yields(table, &r->yields_from, &r->yielding_disc);
    } else {
        kp_error_set(error, status, "stack %zu: %s", index, inner.message);
    }
    for (size_t i = 0; status == KP_OK && i < READINGS; i++)
        status = kp_lift_table_at(table, REACH * (double)i / READINGS, &r->lift[i], error);
    kp_lift_table_free(table);
    return status;
}

static reading *run(size_t threads, size_t tables)
{
    reading *readings = calloc(tables, sizeof *readings);
    cr_assert(readings != NULL);
    kp_error error = {0};
    kp_pool pool = {.threads = threads};
    double begun = seconds();
    kp_status status = kp_pool_run(&pool, tables, make_table, readings, NULL, &error);
    cr_assert(status == KP_OK, "seed %llu, %zu threads: %s", SEED, threads, error.message);
    printf("%zu tables on %zu threads: %.2f s\n", tables, threads, seconds() - begun);
    return readings;
}

Test(threads, same_bytes_on_any_number_of_threads, .timeout = 36000)
{
    size_t tables = (size_t)sized(TABLES, 10 * TABLES), refused = 0;
    reading *one = run(1, tables);
    for (size_t threads = 2; threads <= THREADS_MAX; threads++) {
        reading *many = run(threads, tables);
        for (size_t i = 0; i < tables; i++)
            cr_expect(memcmp(&one[i], &many[i], sizeof *one) == 0, "stack %zu: %zu threads give other bytes", i,
                      threads);
        free(many);
    }
    for (size_t i = 0; i < tables; i++) {
        refused += one[i].status != KP_OK;
        /* The comparison can fail: neighbouring tables differ. */
        cr_expect(i == 0 || memcmp(one[i].lift, one[i - 1].lift, sizeof one->lift) != 0 || one[i].status != KP_OK);
    }
    printf("%zu of the stacks cannot be clamped (loose rings)\n", refused);
    cr_expect(refused < tables / 4, "%zu refused", refused);
    free(one);
}
