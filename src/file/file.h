/* SPDX-License-Identifier: GPL-3.0-or-later */
/** What the room offers beside the reader of kneepoint/file.h: a file to start from, and the manual of files. */
#ifndef KP_FILE_FILE_H
#define KP_FILE_FILE_H

#include "kneepoint/base.h"

/* ---- starter.c: a damper file to start from, each size with how to measure it ---------------------------------- */

typedef enum kp_starter_piston { KP_STARTER_DIGRESSIVE, KP_STARTER_LINEAR } kp_starter_piston;

/** One size that the user may have given. */
typedef struct kp_starter_size {
    const char *text; /* as given, with its unit; NULL: not given */
    double value;     /* [m] of it */
} kp_starter_size;

typedef struct kp_starter {
    kp_starter_size bore, rod, stroke;
    kp_starter_piston piston;
    bool reservoir;
    kp_unit_system units; /* KP_UNITS_METRIC or KP_UNITS_INCH, of all that was not given */
} kp_starter;

enum { KP_STARTER_SIZE = 16 * 1024 /* [bytes] more than any file has */ };

/** Writes the file.
    Given:    what is known of the damper; text of KP_STARTER_SIZE bytes
    Returned: a whole damper file. The sizes are those of an invented damper of a rescue van, scaled with the bore;
              shims have the nearest thickness that is sold, and as many of them as make the stack about as stiff
    Valid:    bore 20 to 120 mm, rod 0.2 to 0.7 of it, stroke 20 to 600 mm
    Errors:   KP_OUT_OF_RANGE with the range; text is then unchanged */
kp_status kp_starter_write(const kp_starter *starter, char *text, kp_error *error);

/* ---- yaml.c ------------------------------------------------------------------------------------------------------ */

/** Version of the YAML library, "0.2.5". */
const char *kp_file_yaml_version(void);

/* ---- manual.c -------------------------------------------------------------------------------------------------- */

/** Writes the whole manual of a damper file.
    Given:    man: a page for man, else plain text of at most 80 columns but for examples
    Returned: text, which the caller frees. Errors: KP_NO_MEMORY */
kp_status kp_manual_write(bool man, char **text, kp_error *error);

#endif
