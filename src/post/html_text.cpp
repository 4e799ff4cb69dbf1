// SPDX-License-Identifier: Apache-2.0
#include "post/html_text.h"

#include <libxml/HTMLparser.h>

#include <algorithm>
#include <array>
#include <memory>

namespace frayhold::post {
namespace {

struct FreeDocument {
    void operator()(xmlDoc* document) const { xmlFreeDoc(document); }
};

struct FreeParser {
    void operator()(htmlParserCtxt* parser) const { htmlFreeParserCtxt(parser); }
};

template <std::size_t N>
bool one_of(std::string_view name, const std::array<std::string_view, N>& names) {
    return std::find(names.begin(), names.end(), name) != names.end();
}

constexpr std::array<std::string_view, 9> dropped{"script",   "style",  "head",   "title", "template",
                                                  "noscript", "iframe", "object", "select"};
constexpr std::array<std::string_view, 24> blocks{
    "p",  "div", "table", "tr",      "ul",      "ol",     "li",     "h1",    "h2", "h3", "h4", "h5",
    "h6", "pre", "hr",    "section", "article", "header", "footer", "aside", "dl", "dt", "dd", "blockquote"};
// Blocks that stand apart from their neighbours by an empty line.
constexpr std::array<std::string_view, 10> spaced{"p",  "h1", "h2",    "h3",  "h4",
                                                  "h5", "h6", "table", "pre", "blockquote"};

bool blank(char c) {
    return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f';
}

// Builds the text line by line; blanks run together as HTML shows them.
class Writer {
  public:
    void words(std::string_view text, bool preformatted) {
        for (const char c : text) {
            if (preformatted && c == '\r') continue;
            if (preformatted && c == '\n') {
                end_line();
            } else if (!preformatted && blank(c)) {
                pending_blank_ = !line_.empty();
            } else {
                if (pending_blank_) line_ += ' ';
                pending_blank_ = false;
                line_ += c;
            }
        }
    }
    void end_line() {
        for (int i = 0; i < std::min(quote_depth_, deepest_quote); ++i) text_ += "> ";
        text_ += line_ + '\n';
        line_.clear();
        pending_blank_ = false;
    }
    void start_block() {
        if (!line_.empty()) end_line();
    }
    void leave_gap() {
        start_block();
        if (!text_.empty() && !text_.ends_with("\n\n")) text_ += '\n';
    }
    void quote(int change) { quote_depth_ += change; }
    [[nodiscard]] bool line_empty() const { return line_.empty(); }
    std::string finish() {
        start_block();
        while (!text_.empty() && text_.back() == '\n') text_.pop_back();
        if (!text_.empty()) text_ += '\n';
        return std::move(text_);
    }

  private:
    static constexpr int deepest_quote = 8;

    std::string text_;
    std::string line_;
    bool pending_blank_ = false;
    int quote_depth_ = 0;
};

std::string attribute(const xmlNode* node, const char* name) {
    xmlChar* value = xmlGetProp(node, reinterpret_cast<const xmlChar*>(name));
    if (value == nullptr) return {};
    std::string text(reinterpret_cast<const char*>(value));
    xmlFree(value);
    return text;
}

bool opens_outside(std::string_view target) {
    return target.starts_with("https://") || target.starts_with("http://") || target.starts_with("mailto:");
}

std::string content_of(const xmlNode* node) {
    return node->content == nullptr ? std::string() : reinterpret_cast<const char*>(node->content);
}

// libxml2 bounds the depth of the tree (256), so this recursion is bounded too.
void write_children(const xmlNode* parent, bool preformatted, Writer& out);

void write_node(const xmlNode* node, bool preformatted, Writer& out) {
    if (node->type == XML_TEXT_NODE || node->type == XML_CDATA_SECTION_NODE) {
        out.words(content_of(node), preformatted);
        return;
    }
    if (node->type != XML_ELEMENT_NODE) return;
    const std::string_view name(reinterpret_cast<const char*>(node->name));
    if (one_of(name, dropped)) return;
    if (name == "br") {
        out.end_line();
        return;
    }
    const bool block = one_of(name, blocks);
    const bool gap = one_of(name, spaced);
    if (gap) {
        out.leave_gap();
    } else if (block) {
        out.start_block();
    }
    if (name == "li") out.words("- ", true);
    if ((name == "td" || name == "th") && !out.line_empty()) out.words("  ", true);
    if (name == "blockquote") out.quote(+1);
    write_children(node, preformatted || name == "pre", out);
    if (name == "blockquote") {
        out.start_block();
        out.quote(-1);
    }
    if (name == "a") {
        const std::string target = attribute(node, "href");
        xmlChar* shown = xmlNodeGetContent(node);
        const std::string words = shown == nullptr ? "" : reinterpret_cast<const char*>(shown);
        xmlFree(shown);
        if (opens_outside(target) && target != words && target != "mailto:" + words)
            out.words(" <" + target + ">", false);
    }
    if (gap) {
        out.leave_gap();
    } else if (block) {
        out.start_block();
    }
}

void write_children(const xmlNode* parent, bool preformatted, Writer& out) {
    for (const xmlNode* child = parent->children; child != nullptr; child = child->next)
        write_node(child, preformatted, out);
}

}  // namespace

std::optional<std::string> text_of_html(std::string_view html) {
    std::string source(html);
    std::replace(source.begin(), source.end(), '\0', ' ');
    const std::unique_ptr<htmlParserCtxt, FreeParser> parser(htmlNewParserCtxt());
    if (!parser) return std::nullopt;
    const std::unique_ptr<xmlDoc, FreeDocument> document(htmlCtxtReadMemory(
        parser.get(), source.data(), static_cast<int>(source.size()), nullptr, "utf-8",
        HTML_PARSE_RECOVER | HTML_PARSE_NOERROR | HTML_PARSE_NOWARNING | HTML_PARSE_NONET));
    const bool halted = parser->disableSAX != 0;
    if (halted) return std::nullopt;
    Writer out;
    if (const xmlNode* root = document ? xmlDocGetRootElement(document.get()) : nullptr)
        write_node(root, false, out);
    return out.finish();
}

}  // namespace frayhold::post
