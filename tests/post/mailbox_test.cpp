// SPDX-License-Identifier: Apache-2.0
#include "post/mailbox.h"

#include <catch2/catch.hpp>

#include "units/error.h"

namespace frayhold::post {

TEST_CASE("An address is read with and without a name") {
    CHECK(parse_mailbox("gear@brandelvoss.example", "to") == Mailbox{"", "gear@brandelvoss.example"});
    CHECK(parse_mailbox("Gear desk <gear@brandelvoss.example>", "to") ==
          Mailbox{"Gear desk", "gear@brandelvoss.example"});
    CHECK(parse_mailbox("\"Desk, gear\" <a+b@c.example>", "to") == Mailbox{"Desk, gear", "a+b@c.example"});
    CHECK(parse_mailbox("prüfung@münz.example", "to").address == "prüfung@münz.example");
    CHECK(to_text(Mailbox{"Gear desk", "gear@a.example"}) == "Gear desk <gear@a.example>");
    CHECK(to_text(Mailbox{"", "gear@a.example"}) == "gear@a.example");
}

TEST_CASE("What is not one complete address is refused by the field's name") {
    for (const std::string text :
         {"", "gear", "@b.example", "a@", "a@b@c.example", "a@.example", "a@b..example", "a b@c.example",
          "a@b.example, c@d.example", "crew: a@b.example;", "a@b.example\nBcc: c@d.example",
          "a@b.example\r\n", "<>", "a@[127.0.0.1"}) {
        INFO(text);
        try {
            const Mailbox mailbox = parse_mailbox(text, "maker's address");
            FAIL_CHECK("taken as " << mailbox.address);
        } catch (const Failure& failure) {
            CHECK(failure.error().where == "maker's address");
            CHECK(failure.error().fault == Fault::input);
        }
    }
    CHECK_THROWS_AS(parse_mailbox(std::string(250, 'a') + "@b.example", "to"), Failure);
}

}  // namespace frayhold::post
