/* One function per command, each in its own file; argument reading, nothing else. They return the exit code. */
#ifndef CLI_COMMANDS_H
#define CLI_COMMANDS_H

/* The documented exit codes; nothing else is ever returned. */
enum exit_code {
    EXIT_DONE = 0, /* done; for weigh: complete */
    EXIT_NO = 1,   /* the answer is no: a fault found, a plan beyond a limit, a batch held, stopped or aborted */
    EXIT_USAGE = 2,
    EXIT_FILE = 3, /* a file is wrong */
    EXIT_DEVICE = 4,
    EXIT_JOURNAL = 5, /* the journal can't be used */
};

int cmd_check(int argc, char **argv);

#endif
