/* Files: our INI files into core's types. Each reader reports every fault of the file and returns true if there was none.
 * The keys are one table per file kind (the *_keys.c files): key, type, unit, range, default, help. */
#ifndef FILES_FILES_H
#define FILES_FILES_H

#include "core/formula.h"
#include "core/profile.h"
#include "core/sequence.h"
#include "files/faults.h"

#define FILE_TEXT_MAX 65536 /* longest file that is read */
#define FILE_PATH 512

/* The whole text of a file, so that what was read is what is journalled. */
struct file_text {
    char path[FILE_PATH]; /* as it is named in faults */
    size_t len;
    char text[FILE_TEXT_MAX + 1]; /* NUL after len */
};

/* Reads a file whole. False with a fault: missing, unreadable, too long, NUL bytes, not UTF-8. */
bool file_read(const char *path, struct file_text *out, struct faults *f);
/* A PROFILE, FORMULA, ... argument: a path if it has '/' or ends in ".ini", else the shipped file KIND/NAME.ini (KIND is
 * scales, formulas, limits or stations), looked for in $TARELINE_PROFILES, then beside the program (../profiles and
 * ../share/tareline of its folder), then PREFIX/share/tareline. Whether a path exists is file_read's business.
 * Fault (line 0) that lists the shipped names if there is none. */
bool file_find(const char *kind, const char *name, char path[FILE_PATH], struct faults *f);

bool formula_read(const struct file_text *text, struct formula *out, struct faults *f);
bool profile_read(const struct file_text *text, struct profile *out, struct faults *f);

#define STATION_PEOPLE 64
#define STATION_CONTAINERS 16
#define STATION_REASONS 9
#define DEVICE_MAX 256

struct station_scale {
    char name[CAP_KEY];
    char profile[FILE_PATH]; /* as file_find takes it */
    char device[DEVICE_MAX];
    mass_pg capacity, division;
    char accuracy[8]; /* accuracy class: "I", "II", "III", "IIII"; sets the minimum load, see files/station.c */
};
struct station_container {
    char key[CAP_KEY];
    mass_pg empty, off;
};
/* A station file. Paths in it are relative to the file, and made whole by station_read. */
struct station {
    char name[CAP_NAME];
    char jurisdiction[CAP_KEY]; /* "" = not said: never guessed */
    char
        lot_pattern[64]; /* what a lot code may look like, as letters A (letter), 9 (digit), others literal; "" = any */
    char language[4];
    char limits[FILE_PATH], people[FILE_PATH]; /* "" = none */
    bool accept_auto, second_person;
    uint32_t accept_ms;
    mass_pg container_max;
    uint8_t scale_count, container_count, reason_count;
    struct station_scale scales[CAP_SCALES];
    struct station_container containers[STATION_CONTAINERS];
    char reasons[STATION_REASONS][CAP_REASON]; /* the short list that a digit picks from */
};
bool station_read(const struct file_text *text, struct station *out, struct faults *f);
/* --scale NAME=PROFILE@DEVICE[,capacity=MASS,division=MASS,class=C]. What is not given is 0 or "": the station file's
 * scale of that name has it. False with a fault that names the argument. */
bool scale_argument(const char *arg, struct station_scale *out, struct faults *f);
/* The scales of --scale arguments in the place of the station's; what one leaves out comes from the station's scale of the
 * same name. None given: the station's stay. False with faults; the station is unchanged then. */
bool station_argued_scales(struct station *st, const char *const *args, unsigned count, struct faults *f);
/* Least net load of an accuracy class on this division, in masses; 0 for a class not given. Source in the .c. */
mass_pg class_min_load(const char *accuracy, mass_pg division);
/* True if the code fits the station's lot pattern. */
bool lot_fits(const char *pattern, const char *lot);
/* One lot has one spelling, scanned or typed: a letter of the pattern is a capital. Without a pattern nothing is known of the
 * plant's lots, and it stays as it was given. lot fits the pattern. */
void lot_spell(const char *pattern, char *lot);

struct people_entry {
    char name[CAP_NAME], initials[CAP_PERSON], number[CAP_PERSON];
    uint8_t rights; /* enum right */
};
struct people {
    unsigned count;
    struct people_entry list[STATION_PEOPLE];
};
bool people_read(const struct file_text *text, struct people *out, struct faults *f);
/* By initials or number; NULL. */
const struct people_entry *people_find(const struct people *p, const char *code);

/* The limits of one jurisdiction and product class, resolved against a formula: out[i] for formula->ingredients[i], share.den 0
 * where it is not regulated. A regulated ingredient without a limit in the file is a fault. */
bool limits_read(const struct file_text *text, const char *jurisdiction, const struct formula *formula,
                 struct limit out[CAP_INGREDIENTS], struct faults *f);
/* limits_read with the station's jurisdiction and limits file, which goes into *text (empty if the station has none). A
 * regulated ingredient at a station without jurisdiction or limits file is a fault: never guessed. */
bool limits_load(const struct station *st, const struct formula *formula, struct file_text *text,
                 struct limit out[CAP_INGREDIENTS], struct faults *f);
/* Expected empty weight of each ingredient's known container and how far it may be off, indexed like
 * formula->ingredients; 0 = any container. One that the station doesn't have is a fault. */
bool containers_find(const struct station *st, const struct formula *formula, mass_pg empty[CAP_INGREDIENTS],
                     mass_pg off[CAP_INGREDIENTS], struct faults *f);
/* Any of our files, told apart by its first section: every fault. *kind: "formula", "scale", "station", "people", "limits". */
bool file_check(const struct file_text *text, const char **kind, struct faults *f);
/* Prints docs/files.md: every section and key of every kind. */
void files_reference(FILE *to);

#endif
