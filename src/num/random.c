/* SPDX-License-Identifier: GPL-3.0-or-later */
/* xoshiro256** 1.0 by David Blackman and Sebastiano Vigna (2018), seeded by splitmix64 (Vigna, 2015): both put in the
   public domain by their authors (CC0). Constants from memory; tests/num checks both against
   their published test vectors (from memory, the first two numbers worked out by hand) and the moments of many draws.
   Uniform and integer draws are the same bits on every machine; a normal draw goes through the C library's log and may
   differ in its last bit between libraries.

   Own code, although GSL has generators: with another one every seed would draw another sample, and no printed band
   could be reproduced; and GSL's live on the heap, where one a draw (kp_random_mix) is wanted. GSL's quasi-random
   sequences (gsl_qrng) do not serve for the same reason: a draw there depends on how many came before it. */
#include "num/num.h"

#include <math.h>
#include <stdint.h>

static uint64_t rotate_left(uint64_t x, int k)
{
    return (x << k) | (x >> (64 - k));
}

static uint64_t splitmix64(uint64_t *state)
{
    uint64_t z = (*state += 0x9e3779b97f4a7c15u);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static uint64_t next(kp_random *random)
{
    unsigned long long *s = random->state;
    uint64_t result = rotate_left((uint64_t)s[1] * 5, 7) * 9;

    uint64_t t = (uint64_t)s[1] << 17;
    s[2] ^= s[0];
    s[3] ^= s[1];
    s[1] ^= s[2];
    s[0] ^= s[3];
    s[2] ^= t;
    s[3] = rotate_left(s[3], 45);
    return result;
}

void kp_random_seed(kp_random *random, unsigned long long seed)
{
    uint64_t state = seed;
    for (int i = 0; i < 4; i++) {
        random->state[i] = splitmix64(&state);
    }
}

double kp_random_uniform(kp_random *random, double low, double high)
{
    double unit = (double)(next(random) >> 11) * 0x1.0p-53; /* 53 random bits: [0, 1) */
    double x = low + unit * (high - low);
    return x < high || !(low < high) ? x : low; /* rounding up to high is not [low, high) */
}

int kp_random_int(kp_random *random, int low, int high)
{
    uint64_t span = (uint64_t)((int64_t)high - (int64_t)low) + 1;

    /* Draws above the last whole multiple of the span would favour small results: they are drawn again. */
    uint64_t limit = UINT64_MAX - UINT64_MAX % span;

    uint64_t draw;
    do {
        draw = next(random);
    } while (draw >= limit);

    return (int)((int64_t)low + (int64_t)(draw % span));
}

/* The polar method gives two numbers. The second is dropped, so that a generator has no more memory than its state. */
double kp_random_normal(kp_random *random, double mean, double sigma)
{
    double u, square;
    do {
        u = kp_random_uniform(random, -1.0, 1.0);
        double v = kp_random_uniform(random, -1.0, 1.0);
        square = u * u + v * v;
    } while (!(square < 1.0) || square == 0.0);

    return mean + sigma * u * sqrt(-2.0 * log(square) / square);
}

unsigned long long kp_random_mix(unsigned long long seed, unsigned stream, unsigned long long index, unsigned item)
{
    uint64_t state = seed;
    state = splitmix64(&state) ^ ((uint64_t)stream << 32 | item);
    state = splitmix64(&state) ^ index;
    return splitmix64(&state);
}
