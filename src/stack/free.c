/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Freeing a workspace: all that begin.c, and later the onset and the lobes, have allocated. */
#include "stack/lobed.h"

#include <stdlib.h>

void kp_stack_free(kp_stack_workspace *ws)
{
    if (!ws) {
        return;
    }

    kp_stack_free_lobes(ws);
    kp_lobed_free(ws);
    kp_stack_free(ws->folding);
    kp_qp_free(&ws->qp);
    free(ws->arena);
    free(ws->gaps);
    free(ws->plates);
    free(ws->plate_of);
    free(ws->discs);
    free(ws);
}
