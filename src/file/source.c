/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "source.h"

#include "keys.h"
#include "slips.h"
#include "yaml.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/** Reads the whole of an open file, at most one byte more than is allowed. */
static kp_status read_all(int file, kp_arena *arena, kp_bytes *out, kp_error *error)
{
    char *bytes = kp_arena_get(arena, KP_FILE_SIZE_MAX + 1);
    if (bytes == NULL) {
        return kp_error_set(error, KP_NO_MEMORY, "memory ran out");
    }

    /* A signal may interrupt a read; 0 bytes are the end of the file. */
    size_t size = 0;
    while (size < KP_FILE_SIZE_MAX + 1) {
        ssize_t got = read(file, bytes + size, KP_FILE_SIZE_MAX + 1 - size);
        if (got < 0 && errno == EINTR) {
            continue;
        }

        if (got < 0) {
            return kp_error_set(error, KP_SYSTEM, "cannot be read: %s", strerror(errno));
        }

        if (got == 0) {
            break;
        }

        size += (size_t)got;
    }

    /* One byte beyond the limit was asked for, which tells that the file is too large. */
    if (size > KP_FILE_SIZE_MAX) {
        return kp_error_set(error, KP_BAD_INPUT, "is larger than %d bytes: no damper file is", KP_FILE_SIZE_MAX);
    }

    out->bytes = bytes;
    out->size = size;
    return KP_OK;
}

kp_status kp_source_open(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error)
{
    (void)context;

    /* Non-blocking: opening a pipe without a writer must not wait for one. */
    int file = open(path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0) {
        return kp_error_set(error, KP_BAD_INPUT, "cannot be opened: %s", strerror(errno));
    }

    /* Only a regular file: reading a device might never end. */
    struct stat about;
    kp_status status = KP_OK;

    if (fstat(file, &about) != 0) {
        status = kp_error_set(error, KP_SYSTEM, "cannot be accessed: %s", strerror(errno));
    } else if (!S_ISREG(about.st_mode)) {
        status = kp_error_set(error, KP_BAD_INPUT, "is not a file with text in it");
    } else {
        out->identity =
            kp_arena_print(arena, "%llu:%llu", (unsigned long long)about.st_dev, (unsigned long long)about.st_ino);
        status = out->identity == NULL ? kp_error_set(error, KP_NO_MEMORY, "memory ran out")
                                       : read_all(file, arena, out, error);
    }

    close(file);
    return status;
}

kp_status kp_source_open_standard(void *context, kp_arena *arena, const char *path, kp_bytes *out, kp_error *error)
{
    bool *waits = context;
    if (!*waits) {
        return kp_source_open(NULL, arena, path, out, error);
    }
    *waits = false;
    out->identity = "-";
    return read_all(STDIN_FILENO, arena, out, error);
}

/** Name of a file that is named inside another one: relative to that one's folder. */
static const char *path_from(kp_arena *arena, const char *path, const char *name)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL || name[0] == '/') {
        return kp_arena_text(arena, name, strlen(name));
    }

    size_t folder = (size_t)(slash - path) + 1, name_size = strlen(name) + 1;
    char *joined = kp_arena_get(arena, folder + name_size);

    if (joined != NULL) {
        memcpy(joined, path, folder);
        memcpy(joined + folder, name, name_size);
    }

    return joined;
}

static kp_node *read_one(kp_source *source, const char *path, const kp_place *named_at);

/** A base valve is the reservoir's object under another name: from here on it has that one. Both in one file are a
    fault. */
static void rename_base_valve(kp_report *report, kp_node *root)
{
    kp_entry *entry = kp_node_find(root, KP_BASE_VALVE);
    if (entry != NULL && kp_node_find(root, "reservoir") != NULL) {
        kp_report_fault(report, entry->key_place, KP_BASE_VALVE,
                        "`reservoir` and `base valve` are one and the same object: leave one of them out");
    } else if (entry != NULL) {
        entry->key = "reservoir";
    }
}

/** The base of a trial with the trial laid over it; the trial itself when there is no base. */
static kp_node *read_base(kp_source *source, const char *path, kp_node *trial)
{
    const kp_entry *based_on = kp_node_find(trial, "based on");
    if (based_on == NULL) {
        return trial;
    }

    const kp_node *name = based_on->value;
    if (name->reported) {
        return NULL;
    }

    if (name->kind != KP_NODE_SCALAR || name->text[0] == '\0') {
        kp_report_fault(source->report, name->place, "based on", "one file name is wanted, such as `van-rear.yaml`");
        return NULL;
    }

    /* The base, with the trial laid over it. */
    const char *base_path = path_from(source->arena, path, name->text);
    kp_node *base = base_path == NULL ? NULL : read_one(source, base_path, &name->place);
    return base == NULL ? NULL : kp_node_merge(source->arena, base, trial);
}

/** Files already open in this chain must not come again. */
static bool refuse_loop(kp_source *source, const char *path, const char *identity, kp_place at)
{
    for (size_t i = 0; i < source->depth; i++) {
        /* The message lists the files of the loop in the order in which they name each other. */
        if (strcmp(source->identities[i], identity) == 0) {
            char chain[400];
            size_t used = 0;
            chain[0] = '\0';

            for (size_t j = i; j < source->depth; j++) {
                used += kp_text_print(chain + used, sizeof chain - used, "%s -> ", source->paths[j]);
            }

            kp_report_fault(source->report, at, "based on", "a loop: %s%s", chain, path);
            return true;
        }
    }

    if (source->depth == KP_CHAIN_MAX) {
        kp_report_fault(source->report, at, "based on", "more than %d files based on each other", KP_CHAIN_MAX);
        return true;
    }

    return false;
}

static kp_node *read_one(kp_source *source, const char *path, const kp_place *named_at)
{
    kp_bytes file = {0};
    kp_error reason = {0};
    kp_status status = source->open(source->context, source->arena, path, &file, &reason);

    /* A file that cannot be read is a fault at the place that names it. */
    kp_place start = {path, (int)source->depth, 1, 1};
    if (status == KP_BAD_INPUT) {
        kp_place whole = {path, start.order, 0, 0}; /* no line: nothing of it was seen */
        const kp_place *at = named_at == NULL ? &whole : named_at;
        char shown[KP_TEXT_SHOWN];
        kp_text_show(path, shown, sizeof shown);
        kp_report_fault(source->report, *at, named_at == NULL ? "" : "based on", "%s%s%s",
                        named_at == NULL ? "the file" : shown, " ", reason.message);
        return NULL;
    }

    if (status != KP_OK) {
        source->status = status;
        kp_error_set(&source->error, status, "%s: %s", path, reason.message);
        return NULL;
    }

    if (refuse_loop(source, path, file.identity, named_at == NULL ? start : *named_at)) {
        return NULL;
    }

    /* Its own tree, then that of what it is based on. */
    source->identities[source->depth] = file.identity;
    source->paths[source->depth] = path;
    source->depth++;
    kp_node *root = kp_yaml_parse(source->arena, source->report, file.bytes, file.size, start);

    if (root != NULL && root->kind != KP_NODE_MAP) {
        if (!root->reported) {
            kp_report_fault(source->report, root->place, "",
                            "this is no damper file: keys such as `format: 1` are "
                            "wanted");
        }
        root = NULL;
    }

    if (root == NULL) {
        return NULL;
    }
    kp_slips_mend(source->arena, source->report, root);
    rename_base_valve(source->report, root);
    return read_base(source, path, root);
}

kp_node *kp_source_read(kp_source *source, const char *path)
{
    kp_node *root = read_one(source, path, NULL);
    if (source->arena->failed) {
        source->status = kp_error_set(&source->error, KP_NO_MEMORY, "memory ran out while %s was read", path);
    }
    return source->status == KP_OK ? root : NULL;
}
