/* Sizes of everything that is bounded at build time.
 *
 * Core never allocates: whatever holds "many" of something holds at most so many. A small board sets smaller figures
 * with -D (see `make core-arm`); a limit that is hit is a clear refusal before work begins, never a truncation. */
#ifndef CORE_CAPACITY_H
#define CORE_CAPACITY_H

#ifndef CAP_ITEMS
#define CAP_ITEMS 160 /* work items of one batch: weighings, lugs, second lots, additions, instructions, checks */
#endif
#ifndef CAP_SCALES
#define CAP_SCALES 4
#endif
#ifndef CAP_INGREDIENTS
#define CAP_INGREDIENTS 32
#endif
#ifndef CAP_STEPS
#define CAP_STEPS 32 /* procedure steps of a formula: additions, instructions, checks */
#endif
#ifndef CAP_LANGS
#define CAP_LANGS 3 /* languages of the names and texts in one formula */
#endif

#define CAP_KEY 32   /* ingredient keys, scale names, with the ending NUL */
#define CAP_NAME 64  /* what a person reads: ingredient and formula names, UTF-8 bytes with NUL */
#define CAP_TEXT 160 /* an instruction or a check's question, UTF-8 bytes with NUL */
#define CAP_LOT 32   /* a lot code with NUL */
#define CAP_REASON 96
#define CAP_PERSON 16 /* a person's code (initials or number) with NUL */

#endif
