// SPDX-License-Identifier: Apache-2.0
#include "web/page_text.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <optional>

namespace frayhold::web {
namespace {

using Translate = std::function<std::string(const std::string&)>;

enum class Kind { text, variable, section, tag };

struct Token {
    Kind kind;
    std::string_view source;
};

constexpr std::array<std::string_view, 9> marking_tags{"a",    "b",   "code", "em",    "kbd",
                                                       "span", "sub", "sup",  "strong"};
constexpr std::array<std::string_view, 5> read_attributes{"placeholder", "aria-label", "title", "alt",
                                                          "data-once"};

// Where the tag that begins at `from` ends: a template's {{…}} may hold a '>' of its own, a quoted value too.
std::size_t end_of_tag(std::string_view page, std::size_t from) {
    bool quoted = false;
    for (std::size_t i = from; i < page.size(); ++i) {
        if (page.compare(i, 2, "{{") == 0)
            i = std::min(page.find("}}", i), page.size() - 2) + 1;
        else if (page[i] == '"')
            quoted = !quoted;
        else if (page[i] == '>' && !quoted)
            return i + 1;
    }
    return page.size();
}

std::size_t end_of_field(std::string_view page, std::size_t from) {
    const std::string_view close = page.compare(from, 3, "{{{") == 0 ? "}}}" : "}}";
    const auto end = page.find(close, from);
    return end == std::string_view::npos ? page.size() : end + close.size();
}

std::vector<Token> tokens_of(std::string_view page) {
    std::vector<Token> tokens;
    for (std::size_t at = 0; at < page.size();) {
        std::size_t end = 0;
        Kind kind = Kind::text;
        if (page.compare(at, 2, "{{") == 0) {
            end = end_of_field(page, at);
            const char sign = page[std::min(at + 2, page.size() - 1)];
            kind = std::string_view("#^/!>").find(sign) == std::string_view::npos ? Kind::variable
                                                                                  : Kind::section;
        } else if (page[at] == '<') {
            end = end_of_tag(page, at);
            kind = Kind::tag;
        } else {
            end = std::min({page.find('<', at), page.find("{{", at), page.size()});
        }
        tokens.push_back({kind, page.substr(at, end - at)});
        at = end;
    }
    return tokens;
}

bool is_closing(std::string_view tag) {
    return tag.starts_with("</");
}

std::string_view name_of(std::string_view tag) {
    const std::size_t from = is_closing(tag) ? 2 : 1;
    std::size_t end = from;
    while (end < tag.size() && std::isalnum(static_cast<unsigned char>(tag[end])) != 0) ++end;
    return tag.substr(from, end - from);
}

bool marks_words(const Token& token) {
    const auto name = name_of(token.source);
    return token.kind == Kind::tag &&
           std::find(marking_tags.begin(), marking_tags.end(), name) != marking_tags.end();
}

using Place = std::vector<Token>::const_iterator;

// One text as a translator sees it, and what each of its fields and tags stands for.
struct Piece {
    std::string english;
    std::map<std::string, std::string_view> stands_for;
    bool has_letters = false;
};

std::string field_name(std::string_view variable) {
    std::string name(variable);
    std::erase_if(name, [](char c) { return c == '{' || c == '}' || c == ' ' || c == '&'; });
    return name == "." ? "it" : name;
}

bool has_letters(std::string_view text) {
    return std::any_of(text.begin(), text.end(),
                       [](char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; });
}

bool is_blank(const Token& token) {
    return token.kind == Kind::text && token.source.find_first_not_of(" \n\t") == std::string_view::npos;
}

// A new line, dot or slash alone between two tags: what stands on its sides are texts of their own.
bool parts_words(const Token& token) {
    return token.kind == Kind::text && !has_letters(token.source) &&
           (token.source.find_first_of("\n/") != std::string_view::npos ||
            token.source.find("·") != std::string_view::npos);
}

Piece piece_of(Place from, Place to) {
    Piece piece;
    std::map<std::string_view, int> alike, opened;
    for (Place at = from; at != to; ++at)
        if (at->kind == Kind::tag && !is_closing(at->source)) ++alike[name_of(at->source)];
    std::vector<std::string> open;
    for (Place at = from; at != to; ++at) {
        std::string shown(at->source);
        if (at->kind == Kind::text)
            piece.has_letters = piece.has_letters || has_letters(shown);
        else if (at->kind == Kind::variable)
            shown.assign("{").append(field_name(at->source)).append("}");
        else if (!is_closing(at->source)) {
            const auto name = name_of(at->source);
            open.push_back(std::string(name) + (alike[name] > 1 ? std::to_string(++opened[name]) : ""));
            shown = "<" + open.back() + ">";
        } else {
            shown = "</" + open.back() + ">";
            open.pop_back();
        }
        if (at->kind != Kind::text) piece.stands_for[shown] = at->source;
        piece.english += shown;
    }
    return piece;
}

// The template's own text of a translation; empty where its fields and tags are not the piece's.
std::optional<std::string> source_of(const Piece& piece, const std::string& translation, bool in_attribute) {
    std::string out;
    std::size_t used = 0;
    std::map<std::string, bool> seen;
    for (std::size_t at = 0; at < translation.size();) {
        const char sign = translation[at];
        if (sign != '{' && sign != '<') {
            if (in_attribute && sign == '"')
                out += "&quot;";
            else
                out += sign;
            ++at;
            continue;
        }
        const auto end = translation.find(sign == '{' ? '}' : '>', at);
        if (end == std::string::npos) return std::nullopt;
        const std::string name = translation.substr(at, end + 1 - at);
        const auto found = piece.stands_for.find(name);
        if (found == piece.stands_for.end()) return std::nullopt;
        if (!seen[name]) ++used;
        seen[name] = true;
        out += found->second;
        at = end + 1;
    }
    return used == piece.stands_for.size() ? std::optional(out) : std::nullopt;
}

std::string_view spaces_before(std::string_view text) {
    return text.substr(0, std::min(text.find_first_not_of(" \n\t"), text.size()));
}

std::string_view spaces_after(std::string_view text) {
    const auto last = text.find_last_not_of(" \n\t");
    return last == std::string_view::npos ? text.substr(0, 0) : text.substr(last + 1);
}

// Walks over a template and writes it anew.
class Rewriting {
  public:
    explicit Rewriting(const Translate& translate) : translate_(translate) {}

    std::string page(std::string_view source) {
        const std::vector<Token> tokens = tokens_of(source);
        for (Place at = tokens.begin(); at != tokens.end();) {
            const Place end = end_of_run(at, tokens.end());
            if (end == at) {
                copy(*at++);
            } else {
                run(at, end);
                at = end;
            }
        }
        return std::move(out_);
    }

  private:
    // The longest run from here in which every marking tag is opened and closed.
    static Place end_of_run(Place from, Place last) {
        std::vector<std::string_view> open;
        Place end = from;
        for (Place at = from; at != last; ++at) {
            if (at->kind == Kind::section || parts_words(*at) || (at->kind == Kind::tag && !marks_words(*at)))
                break;
            if (at->kind == Kind::tag && is_closing(at->source)) {
                if (open.empty() || open.back() != name_of(at->source)) break;
                open.pop_back();
            } else if (at->kind == Kind::tag) {
                open.push_back(name_of(at->source));
            }
            if (open.empty()) end = at + 1;
        }
        return end;
    }

    void run(Place from, Place to) {
        // Spaces at its ends are not the translator's, nor are tags around the whole of it.
        while (from != to && is_blank(*from)) copy(*from++);
        Place end = to;
        while (end != from && is_blank(*(end - 1))) --end;
        if (end - from > 2 && from->kind == Kind::tag && wraps(from, end)) {
            copy(*from);
            run(from + 1, end - 1);
            copy(*(end - 1));
        } else {
            sentence(from, end);
        }
        for (; end != to; ++end) copy(*end);
    }

    void sentence(Place from, Place to) {
        // The attributes of tags within it are read too.
        if (const auto source = translated(from, to, false))
            for (const Token& token : tokens_of(*source)) copy(token);
        else
            for (Place at = from; at != to; ++at) copy(*at);
    }

    static bool wraps(Place from, Place to) {
        int depth = 0;
        for (Place at = from; at != to; ++at) {
            if (at->kind != Kind::tag) continue;
            depth += is_closing(at->source) ? -1 : 1;
            if (depth == 0) return at + 1 == to;
        }
        return false;
    }

    // The template's own text of what stands there in the translator's words, with the spaces around it;
    // empty where it is no text, or is left in English.
    [[nodiscard]] std::optional<std::string> translated(Place from, Place to, bool in_attribute) const {
        const Piece piece = piece_of(from, to);
        if (!piece.has_letters) return std::nullopt;
        const std::string_view before = spaces_before(piece.english), after = spaces_after(piece.english);
        const std::string english =
            piece.english.substr(before.size(), piece.english.size() - before.size() - after.size());
        const std::string translation = translate_(english);
        if (translation == english) return std::nullopt;
        const auto source = source_of(piece, translation, in_attribute);
        if (!source) return std::nullopt;
        return std::string(before).append(*source).append(after);
    }

    void copy(const Token& token) {
        if (token.kind != Kind::tag) {
            out_ += token.source;
            return;
        }
        std::string_view rest = token.source;
        while (!rest.empty()) {
            const auto [from, end] = next_read_value(rest);
            out_ += rest.substr(0, from);
            out_ += attribute(rest.substr(from, end - from));
            rest.remove_prefix(end);
        }
    }

    // Where the value of the next attribute that is read begins and ends; both at the end where there is
    // none.
    static std::pair<std::size_t, std::size_t> next_read_value(std::string_view tag) {
        std::size_t from = tag.size(), end = tag.size();
        for (const std::string_view name : read_attributes) {
            std::string begin(" ");
            begin.append(name).append("=\"");
            const auto found = tag.find(begin);
            if (found == std::string_view::npos || found + begin.size() >= from) continue;
            from = found + begin.size();
            end = std::min(tag.find('"', from), tag.size());
        }
        return {from, end};
    }

    [[nodiscard]] std::string attribute(std::string_view value) const {
        const std::vector<Token> tokens = tokens_of(value);
        std::string out;
        for (Place at = tokens.begin(); at != tokens.end();) {
            Place end = at;
            while (end != tokens.end() && end->kind != Kind::section) ++end;
            if (end == at) {
                out += (at++)->source;
                continue;
            }
            if (const auto source = translated(at, end, true))
                out += *source;
            else
                for (Place k = at; k != end; ++k) out += k->source;
            at = end;
        }
        return out;
    }

    const Translate& translate_;
    std::string out_;
};

}  // namespace

std::vector<std::string> page_texts(std::string_view page) {
    std::vector<std::string> texts;
    const Translate collect = [&](const std::string& english) {
        texts.push_back(english);
        return english;
    };
    (void)Rewriting(collect).page(page);
    return texts;
}

std::string translated_page(std::string_view page, const Translate& translate) {
    return Rewriting(translate).page(page);
}

}  // namespace frayhold::web
