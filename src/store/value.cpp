// SPDX-License-Identifier: Apache-2.0
#include "store/value.h"

#include <charconv>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

[[noreturn]] void wrong_cell(const std::string& what) {
    throw Failure(Fault::outside, tr("the store"), what, "run verify");
}

// The engine gives the result of an expression such as COUNT(*) as text.
template <class Number>
std::optional<Number> parsed(const std::string& text) {
    Number number{};
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
    if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
    return number;
}

}  // namespace

bool Row::next_is_null() const {
    return at_ < cells_.size() && std::holds_alternative<std::monostate>(cells_[at_]);
}

Value::Kept Row::take() {
    if (at_ >= cells_.size()) wrong_cell(trf("column {} of a row holds no value at all", at_ + 1));
    return std::move(cells_[at_++]);
}

std::string Row::text() {
    Value::Kept cell = take();
    if (auto* text = std::get_if<std::string>(&cell)) return std::move(*text);
    wrong_cell(trf("column {} of a row holds no text", at_));
}

std::int64_t Row::number() {
    const Value::Kept cell = take();
    if (const auto* number = std::get_if<std::int64_t>(&cell)) return *number;
    if (const auto* text = std::get_if<std::string>(&cell))
        if (const auto number = parsed<std::int64_t>(*text)) return *number;
    wrong_cell(trf("column {} of a row holds no whole number", at_));
}

int Row::integer() {
    const std::int64_t wide = number();
    if (wide < INT32_MIN || wide > INT32_MAX)
        wrong_cell(trf("column {} of a row holds no number of this size", at_));
    return static_cast<int>(wide);
}

bool Row::boolean() {
    return number() != 0;
}

double Row::real() {
    const Value::Kept cell = take();
    if (const auto* number = std::get_if<double>(&cell)) return *number;
    if (const auto* text = std::get_if<std::string>(&cell))
        if (const auto number = parsed<double>(*text)) return *number;
    wrong_cell(trf("column {} of a row holds no number", at_));
}

Date Row::date() {
    if (const auto date = parse_date(text())) return *date;
    wrong_cell(trf("column {} of a row holds no date", at_));
}

Time Row::time() {
    if (const auto time = parse_time(text())) return *time;
    wrong_cell(trf("column {} of a row holds no time", at_));
}

std::optional<std::int64_t> Row::number_or_none() {
    if (!next_is_null()) return number();
    ++at_;
    return std::nullopt;
}

std::optional<int> Row::integer_or_none() {
    if (!next_is_null()) return integer();
    ++at_;
    return std::nullopt;
}

std::optional<double> Row::real_or_none() {
    if (!next_is_null()) return real();
    ++at_;
    return std::nullopt;
}

std::optional<Date> Row::date_or_none() {
    if (!next_is_null()) return date();
    ++at_;
    return std::nullopt;
}

std::optional<Time> Row::time_or_none() {
    if (!next_is_null()) return time();
    ++at_;
    return std::nullopt;
}

std::optional<Millimetres> Row::length_or_none() {
    const std::optional<double> mm = real_or_none();
    if (!mm) return std::nullopt;
    return Millimetres(*mm);
}

std::string Row::text_or_empty() {
    if (!next_is_null()) return text();
    ++at_;
    return "";
}

}  // namespace frayhold::store
