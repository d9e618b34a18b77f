/* Payload: a core record as the JSON text of a journal entry, and back (reading through SQLite's JSON functions). */
#ifndef STORE_PAYLOAD_H
#define STORE_PAYLOAD_H

#include "core/sequence.h"
#include "store/store.h"

#define PAYLOAD_MAX 4096

/* What only the station knows about a batch, stored with its STARTED entry. Hex hashes of kept texts; "" = none. */
struct batch_texts {
    char formula[65], station[65], limits[65], people[65];
    char formula_name[CAP_NAME], formula_id[CAP_KEY];
};

/* The journal kind is record_kind_text(r->kind). setup gives names (scale, ingredient keys) beside the numbers. texts: for
 * STARTED only, else NULL. False: did not fit. */
bool payload_write(const struct record *r, const struct setup *setup, const struct batch_texts *texts, char *buf,
                   size_t cap);
/* Back to a record; STORE_BROKEN if it is not one. texts may be NULL. */
enum store_result payload_read(struct store *s, const struct entry *e, const struct setup *setup, struct record *out,
                               struct batch_texts *texts);

#endif
