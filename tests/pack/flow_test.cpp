// SPDX-License-Identifier: Apache-2.0
#include "pack/flow.h"

#include <catch2/catch.hpp>
#include <random>

namespace frayhold::pack {
namespace {

constexpr TextArea area{10, 20, 200, 320};  // pages of 300 points

struct Drawn {
    int block = 0;
    int page = 0;
    double y = 0;
};

// Blocks that note where they are drawn.
class Recorder {
  public:
    Recorder() : document_("test", "", std::nullopt), flow_(document_, area) {}

    Block block(int number, double height) {
        Block block;
        block.height = height;
        block.draw = [this, number](cairo_t*, double x, double y) {
            CHECK(x == area.left);
            drawn_.push_back({number, page_, y});
        };
        return block;
    }
    Flow& flow() { return flow_; }
    const std::vector<Drawn>& draw() {
        flow_.draw_pages([this](cairo_t*, int page, int count) {
            CHECK(page == page_);
            pages_ = count;
            ++page_;
        });
        return drawn_;
    }
    [[nodiscard]] int pages() const { return pages_; }

  private:
    PdfDocument document_;
    Flow flow_;
    std::vector<Drawn> drawn_;
    int page_ = 1;
    int pages_ = 0;
};

}  // namespace

TEST_CASE("Blocks fill a page and go on on the next, without their gap") {
    Recorder recorder;
    for (int i = 0; i < 4; ++i) {
        Block block = recorder.block(i, 90);
        block.gap = 10;
        recorder.flow().add(std::move(block));
    }
    const auto drawn = recorder.draw();
    REQUIRE(drawn.size() == 4);
    CHECK(drawn[0].y == 20);
    CHECK(drawn[1].y == 120);
    CHECK(drawn[2].y == 220);
    CHECK(drawn[2].page == 1);
    CHECK(drawn[3].y == 20);
    CHECK(drawn[3].page == 2);
    CHECK(recorder.pages() == 2);
}

TEST_CASE("A flow without blocks is one empty page") {
    Recorder recorder;
    CHECK(recorder.draw().empty());
    CHECK(recorder.pages() == 1);
}

TEST_CASE("Whatever the blocks: none is split, overlaps or leaves the page, and bound ones stay together") {
    std::mt19937 random(20260228);
    for (int round = 0; round < 200; ++round) {
        Recorder recorder;
        std::uniform_real_distribution<double> height(1, 120);
        std::bernoulli_distribution coin(0.4);
        std::vector<double> heights;
        std::vector<bool> bound;
        constexpr int count = 40;
        double chain = 0;
        for (int i = 0; i < count; ++i) {
            heights.push_back(height(random));
            Block block = recorder.block(i, heights.back());
            block.gap = height(random) / 10;
            chain += heights.back() + 12;
            // Chains that fit a page.
            block.with_next = i + 1 < count && chain < 150 && coin(random);
            if (!block.with_next) chain = 0;
            bound.push_back(block.with_next);
            recorder.flow().add(std::move(block));
        }
        const auto drawn = recorder.draw();
        REQUIRE(drawn.size() == count);
        for (int i = 0; i < count; ++i) {
            const auto at = static_cast<std::size_t>(i);
            CHECK(drawn[at].block == i);
            CHECK(drawn[at].y >= area.top);
            CHECK(drawn[at].y + heights[at] <= area.bottom + 1e-9);
            if (i == 0) continue;
            const bool same_page = drawn[at].page == drawn[at - 1].page;
            CHECK(drawn[at].page - drawn[at - 1].page == (same_page ? 0 : 1));
            if (same_page) CHECK(drawn[at].y >= drawn[at - 1].y + heights[at - 1]);
            if (bound[at - 1]) CHECK(same_page);
        }
    }
}

TEST_CASE("Bound blocks higher than a page are parted after all, and nothing is lost") {
    Recorder recorder;
    for (int i = 0; i < 7; ++i) {
        Block block = recorder.block(i, 100);
        block.with_next = i < 6;
        recorder.flow().add(std::move(block));
    }
    const auto drawn = recorder.draw();
    REQUIRE(drawn.size() == 7);
    CHECK(recorder.pages() == 3);
    for (const Drawn& one : drawn) CHECK(one.y + 100 <= area.bottom);
}

TEST_CASE("A repeated heading stands above its rows on every page but its own") {
    Recorder recorder;
    const auto heading = std::make_shared<const Block>(recorder.block(100, 20));
    Block first = *heading;
    first.with_next = true;
    recorder.flow().add(first);
    for (int i = 0; i < 20; ++i) {
        Block row = recorder.block(i, 50);
        row.repeated = heading;
        recorder.flow().add(std::move(row));
    }
    int headings = 0;
    int page = 0;
    for (const Drawn& one : recorder.draw()) {
        if (one.page != page) {
            CHECK(one.block == 100);
            CHECK(one.y == area.top);
            page = one.page;
            ++headings;
        } else {
            CHECK(one.block != 100);
        }
    }
    CHECK(headings == 4);  // 5 rows a page under a heading
    CHECK(recorder.pages() == 4);
}

}  // namespace frayhold::pack
