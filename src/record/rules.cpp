// SPDX-License-Identifier: Apache-2.0
#include "record/rules.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "criteria/advice.h"
#include "language/recorded.h"
#include "language/tr.h"
#include "record/evidence.h"
#include "record/life.h"
#include "record/text.h"

namespace frayhold::record {
namespace {

// Lengths are entered to the millimetre: what does not add up within half of one is a wrong entry.
constexpr double adds_up_within_mm = 0.5;

std::string where(const CaseFile& file) {
    return trf("hold {}", file.hold.number);
}

tl::unexpected<Error> refused(const CaseFile& file, std::string what, std::string mend) {
    return failed(Fault::refused, where(file), std::move(what), std::move(mend));
}

tl::unexpected<Error> over(const CaseFile& file) {
    return refused(file, "the verdict is given and the hold is over",
                   trf("open a new hold on {} if there is something new", file.item.mark));
}

std::string and_all(const std::vector<std::string>& words) {
    return fmt::format("{}", fmt::join(words, "; "));
}

bool returns(VerdictKind kind) {
    return kind == VerdictKind::return_to_service || kind == VerdictKind::return_with_limit;
}

// What stands against bringing anything back into service on the maker's side; empty where nothing does.
std::optional<std::string> against_answer(const std::optional<AnswerEntry>& answer, const Verdict& verdict) {
    if (!answer) return std::nullopt;
    switch (answer->answer) {
        case MakersAnswer::fit:
            return std::nullopt;
        case MakersAnswer::fit_with_limit:
            if (!is_blank(verdict.limit)) return std::nullopt;
            return kept_words(tr("the maker answered 'fit with a limit'"), answer->limit);
        case MakersAnswer::not_fit:
            return tr("the maker answered 'not fit for service'");
        case MakersAnswer::send_it_in:
            return tr("the maker asked for it to be sent in");
        case MakersAnswer::cannot_say:
            break;
    }
    return std::nullopt;
}

// Why there is no answer to rely on; empty where there is one.
std::optional<std::string> without_answer(const CaseFile& file, const std::optional<AnswerEntry>& answer) {
    if (answer && answer->answer == MakersAnswer::cannot_say)
        return tr("the maker cannot say whether it is fit");
    if (answer) return std::nullopt;
    return file.hold.state < HoldState::asked ? tr("the maker was not asked")
                                              : tr("the maker has not answered");
}

// That a required view is wanting; empty where it is not.
std::optional<std::string> without_photo(const RequiredView& view) {
    switch (view.state) {
        case ViewState::missing:
            return kept_words(tr("no photo yet"), words_for(view.role));
        case ViewState::unusable:
            return kept_words(tr("no photo that can be used yet"), words_for(view.role));
        case ViewState::present:
        case ViewState::waived:
            break;
    }
    return std::nullopt;
}

Result<void> check_parts(const CaseFile& file, const Verdict& verdict) {
    const Item& item = file.item;
    if (!can_be_cut(item.kind))
        return refused(file,
                       trf("only rope and cord can be cut into parts, and {} is no rope or cord: {}",
                           item.mark, words_for(item.kind)),
                       "choose another verdict");
    if (!item.length)
        return refused(file, trf("the length of {} is not recorded", item.mark),
                       "measure it, record it with the item, and give the verdict then");
    if (verdict.parts.empty()) return refused(file, "no part is kept", "name the parts, or retire the item");
    if (!verdict.scrapped || !(verdict.scrapped->value() > 0.0))
        return refused(file, "nothing is cut out", "give the length that is cut out and scrapped, above 0");

    std::set<std::string> marks{item.mark};
    double sum_mm = verdict.scrapped->value();
    for (const Part& part : verdict.parts) {
        if (is_blank(part.mark))
            return refused(file, "a part has no mark of its own", "give each part a new mark");
        if (!marks.insert(part.mark).second)
            return refused(file, trf("the mark {} is used twice", part.mark), "give each part a new mark");
        if (!(part.length.value() > 0.0))
            return refused(file, trf("part {} has no length", part.mark), "measure it");
        sum_mm += part.length.value();
    }
    if (!(std::abs(sum_mm - item.length->value()) < adds_up_within_mm))
        return refused(file,
                       trf("the parts and the scrapped length make {}, but {} is {} long",
                           length_words(Millimetres(sum_mm)), item.mark, length_words(*item.length)),
                       "measure again: the lengths must add up");
    return {};
}

Result<void> check_fields(const CaseFile& file, const Verdict& verdict) {
    const bool cuts = verdict.kind == VerdictKind::cut_and_keep_parts;
    if (is_blank(verdict.by))
        return refused(file, "the verdict names nobody", "name the competent person who gives it");
    if (verdict.kind == VerdictKind::return_with_limit && is_blank(verdict.limit))
        return refused(file, "the limit is not stated", "say in words what the item may be used for");
    if (!is_blank(verdict.limit) && verdict.kind != VerdictKind::return_with_limit && !cuts)
        return refused(file, trf("a limit does not go with '{}'", words_for(verdict.kind)),
                       "return it with a limit, or leave the limit out");
    if (!cuts && (!verdict.parts.empty() || verdict.scrapped))
        return refused(file, trf("parts do not go with '{}'", words_for(verdict.kind)),
                       "cut out and keep the parts, or leave them out");
    return cuts ? check_parts(file, verdict) : Result<void>{};
}

bool has_unread_reply(const CaseFile& file) {
    return std::any_of(file.replies.begin(), file.replies.end(),
                       [](const Reply& reply) { return !reply.automatic && !reply.answer; });
}

// The last that went out: a reminder sets the day anew.
const Query* last_sent(const CaseFile& file) {
    const auto last = std::find_if(file.queries.rbegin(), file.queries.rend(),
                                   [](const Query& query) { return query.sent.has_value(); });
    return last == file.queries.rend() ? nullptr : &*last;
}

std::string step_when_asked(const CaseFile& file, Date today) {
    if (has_unread_reply(file)) return tr("Read the reply and enter the maker's answer.");
    const Query* query = last_sent(file);
    for (const Reply& reply : file.replies)
        if (query != nullptr && reply.received >= *query->sent && reply.delivery.starts_with("failed"))
            return trf("The query did not reach the maker ({}): ask by another address.",
                       tr_recorded(reply.delivery));
    if (query != nullptr && query->reply_due && *query->reply_due < today)
        return trf(
            "The reply has been due since {}: chase the maker; without an answer treat the item as retired.",
            to_text(*query->reply_due));
    return tr("Wait for the maker's reply.");
}

std::string step_with_query(const Query& query) {
    if (!query.posting) return tr("Send the query to the maker and mark it sent.");
    switch (query.posting->state) {
        case PostState::unsure:
            return tr(
                "Say whether the query reached the maker: nobody knows whether the mail server took it.");
        case PostState::refused:
            return trf("Mend what kept the query from being sent: {}.",
                       tr_recorded(query.posting->tries.back().words));
        case PostState::withdrawn:
            return tr("Send the query to the maker and mark it sent.");
        default:
            return tr("The query waits in the outbox: run the post.");
    }
}

}  // namespace

bool may_move(HoldState from, HoldState to) {
    if (from == HoldState::verdict) return false;
    return to == HoldState::verdict || static_cast<int>(to) == static_cast<int>(from) + 1;
}

Result<void> may_open_hold(const Item& item) {
    const std::string place = trf("item {}", item.mark);
    if (item.status == ItemStatus::on_hold)
        return failed(Fault::refused, place, "it is already on hold",
                      "add what is new to the hold that is open");
    if (item.status == ItemStatus::retired)
        return failed(Fault::refused, place, "it is retired and out of service for good",
                      "look at the mark again: this may be another item");
    return {};
}

Result<void> may_add_evidence(const CaseFile& file) {
    if (file.hold.state == HoldState::verdict) return over(file);
    return {};
}

Result<void> may_waive(const CaseFile& file, PhotoRole role, const std::string& reason) {
    if (file.hold.state == HoldState::verdict) return over(file);
    if (is_blank(reason))
        return refused(file, trf("no reason is given why {} cannot be photographed", words_for(role)),
                       "write the reason, such as: label worn off");
    for (const RequiredView& view : evidence_list(file)) {
        if (view.role != role) continue;
        if (view.state == ViewState::present)
            return refused(file, trf("there is a photo of {} already", words_for(role)), "leave it as it is");
        if (view.state == ViewState::waived)
            return refused(file, trf("it is written already why {} cannot be photographed", words_for(role)),
                           "leave it as it is");
        return {};
    }
    return refused(file, trf("{} is not asked for", words_for(role)), "leave it as it is");
}

Result<void> may_become_ready(const CaseFile& file) {
    if (file.hold.state == HoldState::verdict) return over(file);
    const std::vector<std::string> missing = missing_evidence(file);
    if (missing.empty()) return {};
    return refused(file, trf("the evidence list is not complete: {}", and_all(missing)),
                   "take each missing photo, or write why it cannot be had");
}

Result<void> may_ask(const CaseFile& file) {
    if (file.hold.state == HoldState::verdict) return over(file);
    if (file.hold.state >= HoldState::ready) return {};
    const std::vector<std::string> missing = missing_evidence(file);
    return refused(
        file,
        missing.empty() ? tr("the hold is not marked ready")
                        : trf("the maker cannot be asked yet: {}", and_all(missing)),
        missing.empty() ? tr("mark it ready") : tr("take each missing photo, or write why it cannot be had"));
}

Result<void> may_enter_answer(const CaseFile& file, int reply, const AnswerEntry& answer) {
    if (file.hold.state == HoldState::verdict) return over(file);
    const auto found = std::find_if(file.replies.begin(), file.replies.end(),
                                    [&](const Reply& other) { return other.number == reply; });
    if (found == file.replies.end())
        return failed(Fault::input, where(file), trf("there is no reply {}", reply),
                      "look up the number among the hold's replies");
    if (file.hold.state < HoldState::asked)
        return refused(file, "the maker was not asked yet", "mark the query sent first");
    if (found->automatic)
        return refused(file, trf("reply {} is an automatic message, not an answer", reply),
                       "wait for the answer of a person");
    const bool limited = answer.answer == MakersAnswer::fit_with_limit;
    if (limited && is_blank(answer.limit))
        return refused(file, "the maker's limit is not stated", "write the limit in the maker's words");
    if (!limited && !is_blank(answer.limit))
        return refused(file, trf("a limit does not go with '{}'", words_for(answer.answer)),
                       "choose 'fit with a limit', or leave the limit out");
    return {};
}

std::vector<RetireGround> retire_grounds(const CaseFile& file, Date today) {
    std::vector<RetireGround> grounds;
    const auto take = [&](const AdviceEntry& advice, const std::string& what, bool whole_item) {
        if (advice.outcome != criteria::Outcome::retire) return;
        const std::string words =
            kept_words(tr("retire criterion met"), kept_words(what, tr_recorded(advice.source)));
        const auto known = std::find_if(grounds.begin(), grounds.end(),
                                        [&](const RetireGround& other) { return other.words == words; });
        if (known == grounds.end()) {
            grounds.push_back({words, whole_item});
        } else {
            known->whole_item = known->whole_item || whole_item;
        }
    };
    for (const Finding& finding : file.findings)
        for (const AdviceEntry& advice : finding.advice)
            take(advice, tr_recorded(finding.kind_words), !finding.station);
    for (const PhotoEntry& photo : file.photos)
        for (const AdviceEntry& advice : photo.advice)
            take(advice, tr_word(criteria::measured_quantity(advice.because)), false);
    if (const LifeEnd life = life_end(file.item, today); life.counts_as_over())
        grounds.push_back({life.over_from
                               ? kept_words(tr("the end of its life has passed"), to_text(*life.over_from))
                               : life.words,
                           true});
    return grounds;
}

std::vector<std::string> rules_against(const CaseFile& file, const Verdict& verdict, Date today) {
    std::vector<std::string> against;
    const std::vector<RetireGround> grounds = retire_grounds(file, today);
    const std::optional<AnswerEntry> answer = file.makers_answer();
    const auto add = [&](const std::optional<std::string>& words) {
        if (words) against.push_back(*words);
    };
    if (returns(verdict.kind)) {
        if (file.hold.state < HoldState::ready)
            for (const RequiredView& view : evidence_list(file)) add(without_photo(view));
        add(without_answer(file, answer));
        add(against_answer(answer, verdict));
        for (const RetireGround& ground : grounds) against.push_back(ground.words);
    } else if (verdict.kind == VerdictKind::cut_and_keep_parts) {
        if (grounds.empty()) add(without_answer(file, answer));
        add(against_answer(answer, verdict));
        for (const RetireGround& ground : grounds)
            if (ground.whole_item)
                against.push_back(kept_words(tr("the whole item is concerned"), ground.words));
    } else if (verdict.kind == VerdictKind::retire_and_destroy) {
        if (grounds.empty() && !answer)
            against.push_back(file.hold.state < HoldState::asked
                                  ? tr("no retire criterion is met and the maker was not asked")
                                  : tr("no retire criterion is met and the maker has not answered"));
    }
    return against;
}

Result<Verdict> check_verdict(const CaseFile& file, Verdict verdict, Date today) {
    if (file.verdict || file.hold.state == HoldState::verdict) {
        if (!file.verdict) return over(file);
        return refused(
            file,
            trf("a verdict was already given by {}: {}", file.verdict->by, words_for(file.verdict->kind)),
            trf("open a new hold on {} if there is something new", file.item.mark));
    }
    if (const Result<void> fields = check_fields(file, verdict); !fields)
        return tl::make_unexpected(fields.error());
    verdict.given_against = rules_against(file, verdict, today);
    if (verdict.is_override() && is_blank(verdict.reason))
        return refused(
            file,
            trf("'{}' goes against the rules: {}", words_for(verdict.kind), and_all(verdict.given_against)),
            "only the deciding person may do so, by writing the reason; it will be shown in every report");
    return verdict;
}

ItemStatus status_after(VerdictKind kind) {
    switch (kind) {
        case VerdictKind::return_to_service:
            return ItemStatus::in_service;
        case VerdictKind::return_with_limit:
            return ItemStatus::in_service_with_limit;
        case VerdictKind::send_to_maker:
            return ItemStatus::sent_to_maker;
        case VerdictKind::retire_and_destroy:
        case VerdictKind::cut_and_keep_parts:
            break;
    }
    return ItemStatus::retired;
}

std::string next_step(const CaseFile& file, Date today) {
    switch (file.hold.state) {
        case HoldState::verdict:
            return tr("Nothing: the verdict is given.");
        case HoldState::answered:
            return tr("A competent person gives the verdict.");
        case HoldState::asked:
            return step_when_asked(file, today);
        case HoldState::ready:
        case HoldState::open:
        case HoldState::evidence:
            break;
    }
    const std::vector<RetireGround> grounds = retire_grounds(file, today);
    if (!grounds.empty())
        return trf("A competent person may give the verdict 'retire' now: {}.", grounds.front().words);
    if (file.hold.state == HoldState::ready) {
        const auto made = std::find_if(file.queries.rbegin(), file.queries.rend(),
                                       [](const Query& query) { return !query.sent; });
        return made == file.queries.rend() ? tr("Make the query to the maker.") : step_with_query(*made);
    }
    const std::vector<std::string> missing = missing_evidence(file);
    if (missing.empty()) return tr("Mark the hold ready.");
    return trf("Add to the evidence: {}.", missing.front());
}

}  // namespace frayhold::record
