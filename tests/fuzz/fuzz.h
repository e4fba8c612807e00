/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef KP_TESTS_FUZZ_FUZZ_H
#define KP_TESTS_FUZZ_FUZZ_H

#include <stddef.h>
#include <stdint.h>

/** libFuzzer's name for its target. Ends the process on a finding. */
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#endif
