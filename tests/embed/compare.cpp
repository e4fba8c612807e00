/* SPDX-License-Identifier: GPL-3.0-or-later */
// Says what differs between two dampers, and what that does at one speed: compare FILE FILE
#include <kneepoint/kneepoint.h>

#include <cstdio>
#include <memory>

struct Loaded {
    kp_damper_data data;
    kp_messages messages{};
    kp_damper *damper = nullptr;
    ~Loaded()
    {
        kp_damper_free(damper);
        kp_messages_free(&messages);
    }
};

int main(int argument_count, char **arguments)
{
    kp_error error{};
    std::unique_ptr<Loaded> loaded[2] = {std::make_unique<Loaded>(), std::make_unique<Loaded>()};
    kp_curve_point points[2];
    kp_differences differences{};
    kp_status status = argument_count == 3 ? KP_OK : KP_USAGE;

    for (int i = 0; i < 2 && status == KP_OK; i++) {
        Loaded &one = *loaded[i];
        status = kp_file_read_damper(arguments[i + 1], nullptr, 0, &one.data, &one.messages, &error);
        status = status == KP_OK ? kp_damper_begin(&one.data, 1.0, &one.damper, &error) : status;
        status = status == KP_OK ? kp_curve_at(one.damper, 0.5, &points[i], &error) : status;
    }
    if (status == KP_OK) {
        status = kp_compare_parts(&loaded[0]->data, &loaded[1]->data, KP_UNITS_METRIC, &differences, &error);
    }
    for (size_t i = 0; status == KP_OK && i < differences.count; i++) {
        std::printf("%s\n", differences.items[i]);
    }
    if (status == KP_OK) {
        std::printf("compression at 0.50 m/s: %.1f N and %.1f N\n", points[0].force, points[1].force);
    } else {
        std::fprintf(stderr, "%s\n", error.message);
    }

    kp_differences_free(&differences);
    return kp_status_exit(status);
}
