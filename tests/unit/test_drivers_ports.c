/* drivers/ports.c as far as it goes without an adaptor: which link is a port's name, and what may be said of one. True
 * adaptors are the virtual machine's (tests/e2e/vm/path.py, weigh.py). */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <unistd.h>

#include "drivers/ports.c" /* its inner functions too */

static void only_text_is_said(void **state)
{
    char out[12];
    (void)state;
    printable("USB \x1b[2J\"\\\x80\n", out, sizeof out);
    assert_string_equal(out, "USB ?[2J???");
    printable(NULL, out, sizeof out);
    assert_string_equal(out, "");
    printable("longer than there is room for", out, sizeof out);
    assert_string_equal(out, "longer than");
}

static void the_link_that_leads_to_the_port(void **state)
{
    static const char *const names[] = {".hidden", "a name",   "a\x1b[2J",         "b\"c",
                                        "other",   "dangling", "usb-adaptor-port0"};
    char folder[] = "/tmp/tareline-ports-XXXXXX", path[PATH_MAX], out[PORTS_DEVICE] = "as it was";
    (void)state;
    assert_non_null(mkdtemp(folder));
    for (unsigned i = 0; i < sizeof names / sizeof *names; i++) {
        if (i == sizeof names / sizeof *names - 1) { /* so far none that will do */
            assert_false(link_to(folder, "/dev/null", out));
            assert_string_equal(out, "as it was");
        }
        const char *to = !strcmp(names[i], "other")     ? "/dev/zero"
                         : strcmp(names[i], "dangling") ? "/dev/null"
                                                        : "/dev/none";
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        assert_int_equal(symlink(to, path), 0);
    }
    assert_true(link_to(folder, "/dev/null", out));
    assert_string_equal(out, path);
    for (unsigned i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        unlink(path);
    }
    rmdir(folder);
    assert_false(link_to(folder, "/dev/null", out));
}

static void a_twin_has_the_same_name(void **state)
{
    const struct hid_found found[] = {{1, 2, "", "/dev/hidraw0"},
                                      {1, 2, "A", "/dev/hidraw1"},
                                      {1, 3, "", "/dev/hidraw2"},
                                      {1, 2, "", "/dev/hidraw3"}};
    (void)state;
    assert_true(has_twin(found, 4, 0));
    assert_false(has_twin(found, 4, 1));
    assert_false(has_twin(found, 4, 2));
    assert_true(has_twin(found, 4, 3));
    assert_false(has_twin(found, 3, 0));
}

static void what_is_no_adaptor_has_no_twin(void **state)
{
    (void)state;
    assert_false(ports_twins("/dev/null"));
    assert_false(ports_twins("/nowhere"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_text_is_said),
        cmocka_unit_test(the_link_that_leads_to_the_port),
        cmocka_unit_test(a_twin_has_the_same_name),
        cmocka_unit_test(what_is_no_adaptor_has_no_twin),
    };
    return cmocka_run_group_tests_name("drivers_ports", tests, NULL, NULL);
}
