// SPDX-License-Identifier: Apache-2.0
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <random>

#include "desk/sample_desk.h"
#include "store/killed_child.h"

// A hundred kills in the usual run; FRAYHOLD_KILLS=1000 for the long one.
namespace frayhold::desk {
namespace {

int kills_wanted() {
    const char* wanted = std::getenv("FRAYHOLD_KILLS");
    return wanted == nullptr ? 100 : std::max(1, std::atoi(wanted));
}

// Every writing action on one rope after the other, as fast as it can; a byte to the pipe after each that was
// acknowledged, beginning with the given group of actions: what comes before it prepares the ground.
class Worker {
  public:
    static constexpr int groups = 7;

    Worker(const sample::DeskFolder& folder, int round, int acknowledged)
        : desk_(folder.open()),
          round_(round),
          acknowledged_(acknowledged),
          first_(round % 2 == 0 ? 0 : round / 2 % groups) {}

    [[noreturn]] void work_until_killed() {
        for (int i = 0;; ++i, first_ = 0) one_rope("R" + std::to_string(round_) + "-" + std::to_string(i), i);
    }

  private:
    template <class Action>
    auto told(const Action& action) {
        auto result = action();
        acknowledge();
        return result;
    }
    template <class Action>
    void done(const Action& action) {
        action();
        acknowledge();
    }
    void acknowledge() const {
        if (group_ < first_) return;
        const char done = 1;
        if (::write(acknowledged_, &done, 1) != 1) ::_exit(1);
    }

    void one_rope(const std::string& mark, int i) {
        group_ = 0;
        const record::Item rope = register_it(mark);
        ++group_;
        check(mark);
        ++group_;
        const std::string hold = gather(mark);
        ++group_;
        ask(hold, (round_ + i) % 2 == 0);
        ++group_;
        hear(hold, mark);
        ++group_;
        decide(hold, mark);
        ++group_;
        look_after(rope, mark);
    }

    record::Item register_it(const std::string& mark) {
        record::Item rope = record::sample::rope();
        rope.mark = mark;
        rope.kit = "kit " + mark;
        rope.used_by = "Mara " + mark;
        told([&] { return desk_.add_item(rope); });
        told([&] { return desk_.edit_item(mark, [&](record::Item& item) { item.place = "rack " + mark; }); });
        told([&] {
            return desk_.import_items("mark,kind\n" + mark + "i,harness\n" + mark + "j,lanyard\n", {});
        });
        done([&] { desk_.set_kit_need(rope.kit, record::Kind::harness, 2); });
        record::Maker maker;
        maker.name = "Maker of " + mark;
        maker.addresses = {"gear@brandelvoss.example"};
        told([&] { return desk_.add_maker(maker); });
        told([&] { return desk_.edit_maker(maker.name, [](record::Maker& it) { it.reply_days = 10; }); });
        return rope;
    }

    void check(const std::string& mark) {
        RoundOrder order;
        order.kit = "kit " + mark;
        const std::string round = told([&] { return desk_.start_round(order); }).round.number;
        told([&] { return desk_.begin_check(round, mark); });
        told([&] { return desk_.do_step(round, mark, record::CheckStep::label_and_identity, ""); });
        told([&] { return desk_.felt_stretch(round, mark, std::nullopt, Millimetres(45'000.0)); });
        told([&] { return desk_.pause_check(round, mark); });
        told([&] { return desk_.resume_check(round, mark); });
        told([&] { return desk_.do_step(round, mark, record::CheckStep::stitching, ""); });
        CheckOrder keep;
        keep.result = record::CheckResult::keep;
        told([&] { return desk_.finish_check(round, mark, keep); });
        told([&] { return desk_.end_round(round); });
    }

    std::string gather(const std::string& mark) {
        const std::string hold = told([&] { return desk_.open_hold(mark, "fuzzy"); }).number;
        record::Finding finding;
        finding.kind = "heavy_fray";
        told([&] { return desk_.add_finding(hold, finding); });
        int shade = 0;
        for (const record::PhotoRole role :
             {record::PhotoRole::label, record::PhotoRole::whole_item, record::PhotoRole::close_up})
            told([&] { return desk_.add_photo(hold, sample::photo_order(role, ++shade)); });
        told([&] { return desk_.save_marks(hold, 1, {}, {}); });
        told([&] { return desk_.waive_view(hold, record::PhotoRole::other_side, "seen from both sides"); });
        if (desk_.case_file(hold).hold.state < record::HoldState::ready)
            told([&] { return desk_.waive_view(hold, record::PhotoRole::second_view, "seen whole"); });
        return hold;
    }

    void ask(const std::string& hold, bool by_hand) {
        told([&] { return desk_.make_query(hold, sample::query_order()); });
        if (by_hand) {
            told([&] { return desk_.mark_sent(hold, 1); });
            return;
        }
        told([&] { return desk_.queue_query(hold, 1); });
        told([&] { return desk_.withdraw_query(hold, 1); });
        told([&] { return desk_.queue_query(hold, 1); });
        const MessageSender send = [](const std::string&, std::span<const std::byte>,
                                      const post::SmtpSteps& steps) -> post::SmtpResult {
            steps.before_handing_over();
            steps.accepted(250, "queued");
            return {post::Handed::accepted, 250, "queued"};
        };
        told([&] { return desk_.run_outbox(send, OutboxQuery{hold, 1}); });
    }

    void hear(const std::string& hold, const std::string& mark) {
        told([&] {
            return desk_.add_reply(hold, sample::bytes_of(sample::message(hold, "fit " + hold)), "r.eml");
        });
        const ReplyFolder folder{"imaps://" + mark, [&](const post::FetchOrder&,
                                                        const std::function<void(post::FetchedMail)>& take) {
                                     const std::string text = "no message " + mark;
                                     take({{1, 1}, sample::bytes_of(text), text.size()});
                                 }};
        const InboxRun run = told([&] { return desk_.fetch_replies(folder); });
        told([&] { return desk_.set_mail_aside(run.unplaced.at(0).number, "no mail"); });
        told([&] { return desk_.enter_answer(hold, 1, sample::answer(record::MakersAnswer::fit)); });
    }

    void decide(const std::string& hold, const std::string& mark) {
        VerdictOrder order = sample::verdict_order(record::VerdictKind::cut_and_keep_parts, "as they said");
        order.parts = {{mark + "a", Millimetres(20'000.0)}, {mark + "b", Millimetres(24'000.0)}};
        order.scrapped = Millimetres(1000.0);
        told([&] { return desk_.give_verdict(hold, order); });
    }

    void look_after(const record::Item& rope, const std::string& mark) {
        BatchNotice notice;
        notice.maker = rope.maker;
        notice.model = rope.model;
        notice.batch = rope.batch;
        notice.words = "a notice";
        told([&] { return desk_.batch_hold(notice); });
        const int device =
            told([&] { return desk_.pair_device("phone", "Jo Marsh", record::Role::helper, mark); }).number;
        told([&] { return desk_.revoke_device(device); });
        if (!testing::on_server()) told([&] { return desk_.forget_person("Mara " + mark); });
    }

    Desk desk_;
    int round_;
    int acknowledged_;
    int first_;
    int group_ = 0;
};

[[noreturn]] void work(const sample::DeskFolder& folder, int round, int acknowledged) {
    try {
        Worker(folder, round, acknowledged).work_until_killed();
    } catch (const Failure& failure) {
        const std::string words = failure.error().sentence() + "\n";
        static_cast<void>(::write(STDERR_FILENO, words.data(), words.size()));
    }
    ::_exit(1);
}

}  // namespace

TEST_CASE("A desk killed at any moment of any action loses nothing that was acknowledged") {
    const sample::DeskFolder folder;
    std::mt19937 seeded(20260303);
    std::uniform_int_distribution<int> pause_us(500, 40'000);
    std::int64_t acknowledged = 0;
    const int kills = kills_wanted();
    for (int round = 0; round < kills; ++round) {
        const std::chrono::microseconds pause(pause_us(seeded));
        // One in eight at any time, the opening of the store included; else within a group of actions.
        acknowledged +=
            testing::kill_child(pause, round % 8 != 0, [&](int pipe) { work(folder, round, pipe); });
    }
    // The kills have left one store; what one of them broke would still be broken.
    const Desk desk = folder.open();
    const VerifyReport report = desk.verify();
    for (const VerifyFault& fault : report.faults) UNSCOPED_INFO(fault.where + ": " + fault.what);
    CHECK(report.is_sound());
    CHECK(report.journal_entries >= acknowledged);
    CHECK(acknowledged >= kills / 2);
    CHECK(std::filesystem::is_empty(folder.place.originals() / "incoming"));
}

}  // namespace frayhold::desk
