/* The documented exit codes; the program never returns anything else. */
#ifndef CORE_EXIT_H
#define CORE_EXIT_H

enum exit_code {
    EXIT_DONE = 0, /* done; for weigh: complete */
    EXIT_NO = 1,   /* the answer is no: a fault found, a plan beyond a limit, a batch held, stopped or aborted */
    EXIT_USAGE = 2,
    EXIT_FILE = 3, /* a file is wrong */
    EXIT_DEVICE = 4,
    EXIT_JOURNAL = 5, /* the journal can't be used */
};

#endif
