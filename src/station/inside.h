/* Shared by the files of the station only. */
#ifndef STATION_INSIDE_H
#define STATION_INSIDE_H

#include "core/exit.h"
#include "drivers/clock.h"
#include "station/station.h"

/* load.c: files and arguments into w; an exit code, EXIT_DONE when all is well. The store is open (live). */
int load_all(struct weigher *w);
/* The next of several batches, after one that is complete. */
void load_new_batch(struct weigher *w);
/* An id for a batch that begins now; in a replay the tape's. */
void load_batch_id(struct weigher *w);
/* Says the faults of the files: EXIT_FILE. */
int load_wrong(struct weigher *w);

/* resume.c: the batch that is open. */
struct opening {
    struct weigher *w;
    struct batch_texts texts; /* "" = there is no open batch, or it began without */
    struct record record;     /* its STARTED entry */
    bool found;
};
/* Looks for it in the journal, and whether the formula that was asked for is its own; an exit code. */
int resume_look(struct weigher *w, struct opening *o);
/* What a replay needs to know of it before its texts: onto the tape, and from there. */
void resume_to_tape(struct weigher *w, const struct opening *o);
bool resume_from_tape(struct weigher *w, struct opening *o);
/* How many of --batches are to be made, the open one among them. */
unsigned resume_left(const struct weigher *w, const struct opening *o);
/* Its entries, applied; without an open batch a new id. */
int resume_entries(struct weigher *w);

/* act.c: one event and all that follows from it. */
void act(struct weigher *w, const struct event *ev);
void act_begin(struct weigher *w);
/* One read: its readings; or, if there is none in it and its bytes are none, noise. */
void act_bytes(struct weigher *w, uint8_t scale, struct feeder_bytes *bytes);
void act_link(struct weigher *w, uint8_t scale, enum link_state link);
void act_line(struct weigher *w, const char *line);
void act_tick(struct weigher *w);
void act_leave(struct weigher *w);
void say(struct weigher *w, struct say *what);

/* journal.c: appends live, or checks against the tape. */
enum store_result journal_append(struct weigher *w, const char *kind, const char *payload, const char *person,
                                 char why[STORE_WHY]);
enum store_result journal_keep(struct weigher *w, struct kept_text *text, char why[STORE_WHY]);

/* choices.c: into w->view, for the prompt that is open. */
void choices_make(struct weigher *w);

/* view.c */
/* The unit and decimals of a scale: as it shows them, else as its division suggests; kilograms for none. */
void unit_of(const struct weigher *w, uint8_t scale, uint8_t *unit, uint8_t *places);
/* What goes in with the addition `of`, or which lugs the basis `of` is made of, by the order of the ids. */
uint16_t items_asked(const struct weigher *w, const struct item *of, uint16_t ids[CAP_ITEMS]);
void view_build(struct weigher *w);

/* loop.c, replay.c */
int loop_run(struct weigher *w);
int replay_run(struct weigher *w);
int64_t clock_utc_us(void);

#endif
