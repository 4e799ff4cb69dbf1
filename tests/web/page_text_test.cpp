// SPDX-License-Identifier: Apache-2.0
#include "web/page_text.h"

#include <catch2/catch.hpp>
#include <map>

using frayhold::web::page_texts;
using frayhold::web::translated_page;
using Texts = std::vector<std::string>;

namespace {

std::string in_german(std::string_view page, const std::map<std::string, std::string>& german) {
    return translated_page(page, [&](const std::string& english) {
        const auto found = german.find(english);
        return found == german.end() ? english : found->second;
    });
}

}  // namespace

TEST_CASE("a page's texts are whole, with fields and tags that mark words", "[page_text]") {
    CHECK(page_texts("<p>Go on</p>\n<p class=\"x\"> Go <strong>back</strong> </p>") ==
          Texts{"Go on", "Go <strong>back</strong>"});
    CHECK(page_texts(R"(<p><a href="/x?a=1&b={{y}}">{{mark}} is due</a></p>)") == Texts{"{mark} is due"});
    CHECK(page_texts(R"(<p>See <a href="{{a}}">one</a> or <a href="{{b}}">two</a>.</p>)") ==
          Texts{"See <a1>one</a1> or <a2>two</a2>."});
    CHECK(page_texts("<li>{{#known}}Known as {{{name}}}{{/known}}{{^known}}Unknown{{/known}}</li>") ==
          Texts{"Known as {name}", "Unknown"});
    CHECK(page_texts("<p> · <a href=\"/x\">with a phone</a> · </p>") == Texts{"with a phone"});
    CHECK(page_texts(
              "<p><a href=\"/\">Holds</a> / <a href=\"/x\">{{hold}}</a>\n<a href=\"/y\">Items</a></p>") ==
          Texts{"Holds", "Items"});
    CHECK(page_texts("<p><a href=\"/x\">Look</a>, <em>then</em> act.</p>") ==
          Texts{"<a>Look</a>, <em>then</em> act."});
    CHECK(page_texts("{{#list}}<li>Was {{.}}</li>{{/list}}") == Texts{"Was {it}"});
}

TEST_CASE("what holds no letter is no text", "[page_text]") {
    CHECK(page_texts("<p>{{day}}, {{by}}: <strong>{{result}}</strong></p><p>12 − 3</p>").empty());
    CHECK(page_texts("{{! Said to nobody }}<br><hr>").empty());
}

TEST_CASE("attributes that are read are texts, others are not", "[page_text]") {
    CHECK(page_texts(
              R"(<input id="mark" name="mark" placeholder="Which mark?" aria-label="Mark of {{what}}">)") ==
          Texts{"Which mark?", "Mark of {what}"});
    CHECK(page_texts(R"(<p>See <a title="The {{n}}th" href="x">it</a> now</p>)") ==
          Texts{"See <a>it</a> now", "The {n}th"});
    CHECK(page_texts(R"(<form data-once="Sending …" data-path="/here">)") == Texts{"Sending …"});
}

TEST_CASE("a tag that a section cuts parts the text", "[page_text]") {
    CHECK(page_texts("<p>Then {{#x}}<strong>now{{/x}} here</strong></p>") == Texts{"Then", "now", "here"});
}

TEST_CASE("a translated page keeps its fields, tags, attributes and spaces", "[page_text]") {
    CHECK(in_german(R"(<p> Filled in from <a href="{{h}}">{{maker}}'s book</a>. </p>)",
                    {{"Filled in from <a>{maker}'s book</a>.", "<a>Im Buch von {maker}</a> nachgesehen."}}) ==
          R"(<p> <a href="{{h}}">Im Buch von {{maker}}</a> nachgesehen. </p>)");
    CHECK(in_german(R"(<input placeholder="Which?">)", {{"Which?", R"(Welches "Ding"?)"}}) ==
          R"(<input placeholder="Welches &quot;Ding&quot;?">)");
    CHECK(in_german("<p>See <a title=\"Why\">it</a> now</p>",
                    {{"See <a>it</a> now", "Jetzt <a>es</a> sehen"}, {"Why", "Warum"}}) ==
          "<p>Jetzt <a title=\"Warum\">es</a> sehen</p>");
    const std::string page = "<!doctype html>\n<p>{{#a}} Go on {{/a}}</p><script src=\"/x.js\"></script>\n";
    CHECK(in_german(page, {}) == page);
}

TEST_CASE("a translation with other fields or tags is not taken", "[page_text]") {
    const std::string page = "<p>See <a href=\"x\">{{mark}}</a> now</p>";
    for (const char* wrong :
         {"Sieh {mark}", "Sieh <a>{marke}</a>", "<b>Sieh</b> <a>{mark}</a>", "Sieh <a>{mark"})
        CHECK(in_german(page, {{"See <a>{mark}</a> now", wrong}}) == page);
}
