/* SPDX-License-Identifier: GPL-3.0-or-later */
/** The common subset of YAML 1.1 and 1.2, every scalar taken as text, by libyaml's events.
    Why events and not its document loader: the loader takes duplicate keys and aliases that contain themselves, and
    needs 21 s for 100 000 nested brackets; here they are refused as they come. No anchor, alias, tag, merge key or
    second document is accepted, so the text cannot grow while it is read. */
#include "yaml.h"

#include "file.h"
#include "slips.h"

#include <assert.h>
#include <string.h>
#include <yaml.h>

/** One open map or list. */
typedef struct level {
    kp_node *node;
    const char *key; /* map: the key that waits for its value, or NULL */
    kp_place key_place;
    bool skip_value; /* the waiting key was a double: its value is read and dropped */
} level;

typedef struct builder {
    kp_arena *arena;
    kp_report *report;
    kp_place start;
    kp_node *root;
    level levels[KP_FILE_DEPTH_MAX];
    size_t depth;
    size_t documents;
    bool stop;          /* something that makes the rest meaningless has been reported */
    const char *mended; /* the text without a slip that has been reported; NULL: there is none */
} builder;

static kp_place place_of(const builder *from, yaml_mark_t mark)
{
    kp_place place = from->start;
    if (place.line > 0) {
        place.line += mark.line;
        place.column = mark.column + 1;
    }
    return place;
}

static void refuse(builder *to, kp_place place, const char *text)
{
    kp_report_fault(to->report, place, "", "%s", text);
}

/** The innermost open map or list; NULL outside all of them. */
static level *innermost(builder *in)
{
    if (in->depth == 0) {
        return NULL;
    }
    level *top = &in->levels[in->depth - 1];
    assert(top->node != NULL); /* open_level puts one on every level below depth */
    return top;
}

/** Puts a finished or opened node where it belongs. */
static void place_node(builder *to, kp_node *node)
{
    if (node == NULL) {
        to->stop = true;
        return;
    }

    level *top = innermost(to);
    if (top == NULL) {
        to->root = node;
        return;
    }

    /* Append to the list, or store under the waiting key. */
    bool kept = true;
    if (top->node->kind == KP_NODE_LIST) {
        kept = kp_node_append(to->arena, top->node, NULL, node->place, node);
    } else {
        if (!top->skip_value) {
            kept = kp_node_append(to->arena, top->node, top->key, top->key_place, node);
        }
        top->key = NULL;
        top->skip_value = false;
    }

    to->stop = to->stop || !kept;
}

/** Does the next scalar stand where a map wants a key? */
static bool wants_key(builder *in)
{
    const level *top = innermost(in);
    return top != NULL && top->node->kind == KP_NODE_MAP && top->key == NULL;
}

static void take_key(builder *to, const char *text, size_t length, kp_place place)
{
    level *top = &to->levels[to->depth - 1];
    top->key = kp_arena_text(to->arena, text, length);
    top->key_place = place;

    if (top->key == NULL) {
        to->stop = true;
        return;
    }

    char shown[KP_TEXT_SHOWN];
    kp_text_show(top->key, shown, sizeof shown);

    /* The value of a refused key is read and dropped. */
    if (strcmp(top->key, "<<") == 0) {
        refuse(to, place, "merge keys are not accepted: a trial says `based on: FILE`");
        top->skip_value = true;
    } else if (length == 0) {
        refuse(to, place, "a key is missing in front of the colon");
        top->skip_value = true;
    } else if (kp_node_find(top->node, top->key) != NULL) {
        char where[40] = "";

        if (to->start.line > 0) {
            kp_text_print(where, sizeof where, ": the first is on line %zu",
                          kp_node_find(top->node, top->key)->key_place.line);
        }
        kp_report_fault(to->report, place, "", "key `%s` is there twice%s", shown, where);
        top->skip_value = true;
    } else if (top->node->count == KP_FILE_KEYS_MAX) {
        kp_report_fault(to->report, place, "", "more than %d keys in one map", KP_FILE_KEYS_MAX);
        to->stop = true;
    }
}

static void take_scalar(builder *to, const yaml_event_t *event)
{
    kp_place place = place_of(to, event->start_mark);
    const char *text = (const char *)event->data.scalar.value;
    size_t length = event->data.scalar.length;
    bool reported = false;

    /* Anchors and tags are refused; the value then counts as reported. */
    if (event->data.scalar.anchor != NULL) {
        refuse(to, place, "anchors (&) are not accepted: write the value out");
        reported = true;
    }

    if (event->data.scalar.tag != NULL) {
        refuse(to, place, "tags (!) are not accepted: every value is text");
        reported = true;
    }

    /* NUL would end the text early. */
    if (memchr(text, '\0', length) != NULL) {
        refuse(to, place, "a value contains the character NUL");
        reported = true;
        length = strlen(text);
    }

    if (wants_key(to)) {
        take_key(to, text, length, place);
        return;
    }

    kp_node *node = kp_node_new(to->arena, KP_NODE_SCALAR, place);
    if (node != NULL) {
        node->text = kp_arena_text(to->arena, text, length);
        node->plain = event->data.scalar.style == YAML_PLAIN_SCALAR_STYLE;
        node->reported = reported;
    }

    place_node(to, node != NULL && node->text != NULL ? node : NULL);
}

static void take_alias(builder *to, const yaml_event_t *event)
{
    kp_place place = place_of(to, event->start_mark);
    refuse(to, place, "aliases (*) are not accepted: write the value out");

    if (wants_key(to)) {
        to->levels[to->depth - 1].key = "*";
        to->levels[to->depth - 1].key_place = place;
        to->levels[to->depth - 1].skip_value = true;
        return;
    }

    /* An alias as a value counts as reported, so that nothing more is said of it. */
    kp_node *node = kp_node_new(to->arena, KP_NODE_SCALAR, place);
    if (node != NULL) {
        node->reported = true;
    }

    place_node(to, node);
}

static void open_level(builder *to, const yaml_event_t *event, kp_node_kind kind)
{
    kp_place place = place_of(to, event->start_mark);

    /* Anchors and tags are refused on maps and lists too. */
    const yaml_char_t *anchor =
        kind == KP_NODE_MAP ? event->data.mapping_start.anchor : event->data.sequence_start.anchor;
    const yaml_char_t *tag = kind == KP_NODE_MAP ? event->data.mapping_start.tag : event->data.sequence_start.tag;

    if (anchor != NULL) {
        refuse(to, place, "anchors (&) are not accepted: write the value out");
    }

    if (tag != NULL) {
        refuse(to, place, "tags (!) are not accepted: every value is text");
    }

    if (wants_key(to)) {
        refuse(to, place, "a key must be a word, not a list or a map");
        to->stop = true;
        return;
    }

    if (to->depth == KP_FILE_DEPTH_MAX) {
        kp_report_fault(to->report, place, "", "more than %d lists or maps inside each other", KP_FILE_DEPTH_MAX);
        to->stop = true;
        return;
    }

    /* It opens a level of its own. */
    kp_node *node = kp_node_new(to->arena, kind, place);
    place_node(to, node);

    if (node != NULL) {
        to->levels[to->depth++] = (level){.node = node};
    }
}

static void take_document(builder *to, const yaml_event_t *event)
{
    kp_place place = place_of(to, event->start_mark);
    to->documents++;
    if (to->documents > 1) {
        refuse(to, place, "a second document begins here: one file holds one");
        to->stop = true;
    } else if (event->data.document_start.tag_directives.start != event->data.document_start.tag_directives.end) {
        refuse(to, place, "tags (%TAG) are not accepted: every value is text");
    }
}

static void take_event(builder *to, const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        take_document(to, event);
        break;
    case YAML_SCALAR_EVENT:
        take_scalar(to, event);
        break;
    case YAML_ALIAS_EVENT:
        take_alias(to, event);
        break;
    case YAML_MAPPING_START_EVENT:
        open_level(to, event, KP_NODE_MAP);
        break;
    case YAML_SEQUENCE_START_EVENT:
        open_level(to, event, KP_NODE_LIST);
        break;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        to->depth--;
        break;
    default:
        break; /* stream and document ends carry nothing */
    }
}

/** Line and column of a byte. The library reports what is no text (a bad UTF-8 byte, a NUL) at 1:1, but counts bytes.
 */
static kp_place place_of_byte(const builder *from, const char *bytes, size_t offset)
{
    kp_place place = from->start;
    if (place.line == 0) {
        return place;
    }

    /* Columns count characters: the bytes inside a UTF-8 character do not count. */
    for (size_t i = 0; i < offset; i++) {
        if (bytes[i] == '\n') {
            place.line++;
            place.column = 1;
        } else if (((unsigned char)bytes[i] & 0xC0U) != 0x80U) {
            place.column++;
        }
    }
    return place;
}

static void report_problem(builder *to, const yaml_parser_t *parser, const char *bytes, size_t size)
{
    const char *problem = parser->problem == NULL ? "this is not YAML" : parser->problem;

    if (parser->error == YAML_MEMORY_ERROR) {
        to->arena->failed = true;
    } else if (parser->error == YAML_READER_ERROR) {
        size_t offset = parser->problem_offset < size ? parser->problem_offset : size;

        if (strstr(problem, "trailing") != NULL) { /* the bad byte is the one that begins a longer character */
            do {
                offset -= offset > 0 ? 1 : 0;
            } while (offset > 0 && ((unsigned char)bytes[offset] & 0xC0U) == 0x80U);
        }

        unsigned byte = offset < size ? (unsigned char)bytes[offset] : 0U;
        kp_report_fault(to->report, place_of_byte(to, bytes, offset), "",
                        "byte 0x%02X is not text (%s): a file is UTF-8 text", byte, problem);
    } else {
        /* A slip of a newcomer is mended, so that one reading finds all the rest. */
        to->mended = to->start.line == 0 || memchr(bytes, '\0', size) != NULL
                         ? NULL
                         : kp_slip_mend_text(to->arena, to->report, to->start, bytes, size,
                                             to->start.line + parser->problem_mark.line);
        to->stop = true;
        if (to->mended != NULL) {
            return;
        }

        const char *hint = strstr(problem, "tab") != NULL || strstr(problem, "cannot start any token") != NULL
                               ? " (indent with blanks, not with tabs)"
                               : "";
        kp_report_fault(to->report, place_of(to, parser->problem_mark), "", "this is not YAML: %s%s%s%s", problem,
                        parser->context == NULL ? "" : ", ", parser->context == NULL ? "" : parser->context, hint);
    }

    to->stop = true;
}

/** One reading. mended comes back not NULL when the text should be read anew in that form. */
static kp_node *parse_once(kp_arena *arena, kp_report *report, const char *bytes, size_t size, kp_place start,
                           const char **mended)
{
    static const char byte_order_mark[] = "\xEF\xBB\xBF";
    if (size >= 3 && memcmp(bytes, byte_order_mark, 3) == 0) {
        bytes += 3;
        size -= 3;
    }

    /* Events until the end, or until something makes the rest meaningless. */
    builder to = {.arena = arena, .report = report, .start = start};
    yaml_parser_t parser;

    if (yaml_parser_initialize(&parser) == 0) {
        arena->failed = true;
        return NULL;
    }

    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)bytes, size);

    for (bool end = false; !end && !to.stop;) {
        yaml_event_t event;
        if (yaml_parser_parse(&parser, &event) == 0) {
            report_problem(&to, &parser, bytes, size);
            break;
        }

        take_event(&to, &event);
        end = event.type == YAML_STREAM_END_EVENT;
        yaml_event_delete(&event);
    }

    yaml_parser_delete(&parser);
    *mended = to.mended;
    if (to.stop || arena->failed) {
        return NULL;
    }

    if (to.root == NULL) {
        refuse(&to, start, start.line > 0 ? "the file is empty" : "nothing stands behind the =");
    }

    return to.root;
}

kp_node *kp_yaml_parse(kp_arena *arena, kp_report *report, const char *bytes, size_t size, kp_place start)
{
    enum { SLIPS_MAX = 20 /* [-] mended in one file: a file of slips alone ends here */ };
    for (int i = 0;; i++) {
        const char *mended = NULL;
        kp_node *root = parse_once(arena, report, bytes, size, start, &mended);
        if (mended == NULL || i == SLIPS_MAX) {
            return root;
        }
        bytes = mended;
        size = strlen(mended);
    }
}

const char *kp_file_yaml_version(void)
{
    return yaml_get_version_string();
}
