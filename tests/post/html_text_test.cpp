// SPDX-License-Identifier: Apache-2.0
#include "post/html_text.h"

#include <catch2/catch.hpp>

namespace frayhold::post {

TEST_CASE("HTML is reduced to its words") {
    CHECK(text_of_html("<p>Retire  it.</p><p>Gr&uuml;&szlig;e &amp; thanks</p>") ==
          "Retire it.\n\nGrüße & thanks\n");
    CHECK(text_of_html("one<br>two<br/><br>three") == "one\ntwo\n\nthree\n");
    CHECK(text_of_html("<ul><li>one<li>two <b>bold</b></ul>after") == "- one\n- two bold\nafter\n");
    CHECK(text_of_html("<table><tr><td>limit</td><td>1.5</td></tr><tr><td>k</td><td>2</td></tr></table>") ==
          "limit  1.5\nk  2\n");
    CHECK(text_of_html("<blockquote>you wrote<br>this</blockquote>no") == "> you wrote\n> this\n\nno\n");
    CHECK(text_of_html("<pre>a  b\n  c</pre>") == "a  b\n  c\n");
    CHECK(text_of_html("绳皮 <i>πλέξη</i>") == "绳皮 πλέξη\n");
    CHECK(text_of_html("") == "");
    CHECK(text_of_html("  \n ") == "");
}

TEST_CASE("A link's target is shown where it differs from its words") {
    CHECK(text_of_html("<a href='https://brandelvoss.example/notice'>our notice</a>") ==
          "our notice <https://brandelvoss.example/notice>\n");
    CHECK(text_of_html("<a href='https://a.example'>https://a.example</a>") == "https://a.example\n");
    CHECK(text_of_html("<a href='mailto:gear@a.example'>gear@a.example</a>") == "gear@a.example\n");
    CHECK(text_of_html("<a href='javascript:alert(1)'>press</a>") == "press\n");
}

TEST_CASE("Scripts, styles, comments and forms leave no words") {
    CHECK(text_of_html(
              "<head><title>t</title><style>p{}</style></head><script>alert('x')</script><!-- c --><p>words"
              "<img src=http://track.example/1.gif><iframe src=x>y</iframe></p>") == "words\n");
}

TEST_CASE("Broken HTML is read as far as it makes sense") {
    CHECK(text_of_html("<p>a<b>b</p>c</b></div></table>d") == "ab\n\ncd\n");
    CHECK(text_of_html("a &nosuch; &#xD800; <").value_or("none").starts_with("a "));
    CHECK(text_of_html(std::string_view("a\0b", 3)) == "a b\n");
}

TEST_CASE("Nesting beyond what is read is said, not cut off silently") {
    const auto nested = [](int depth) {
        std::string html;
        for (int i = 0; i < depth; ++i) html += "<div>";
        return text_of_html(html + "x");
    };
    CHECK(nested(200) == "x\n");
    CHECK_FALSE(nested(300));
    CHECK_FALSE(nested(200'000));
}

}  // namespace frayhold::post
