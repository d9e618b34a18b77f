/* One function per command, each in its own file; argument reading, nothing else. They return the exit code. */
#ifndef CLI_COMMANDS_H
#define CLI_COMMANDS_H

#include "core/exit.h"

int cmd_weigh(int argc, char **argv);
int cmd_check(int argc, char **argv);
int cmd_plan(int argc, char **argv);
int cmd_listen(int argc, char **argv);
int cmd_ports(int argc, char **argv);
int cmd_pretend(int argc, char **argv);
int cmd_records(int argc, char **argv);

#endif
