// SPDX-License-Identifier: Apache-2.0
// How long the bench's server takes, without network and browser: a corner dragged until its numbers are
// there, the queue at 20,000 holds, and the register at 100,000 items. Prints figures; asserts nothing, since
// machines differ. Usage: bench_web_latency PHOTO
#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <random>

#include "desk/desk.h"
#include "desk/shipped.h"
#include "desk/usual_setup.h"
#include "photo/frame_memory.h"
#include "record/temp_folder.h"
#include "store/database.h"
#include "store/items.h"
#include "store/store.h"
#include "web/site.h"

namespace {

using namespace frayhold;
using nlohmann::json;

constexpr const char* host = "127.0.0.1:8480";
constexpr int hold_count = 20'000;
constexpr int item_count = 100'000;

struct Times {
    double median_ms = 0.0;
    double worst_ms = 0.0;
};

template <class Work>
Times times_of(int runs, const Work& work) {
    std::vector<double> taken;
    for (int i = 0; i < runs; ++i) {
        const auto start = std::chrono::steady_clock::now();
        work();
        taken.push_back(
            std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start).count());
    }
    std::sort(taken.begin(), taken.end());
    return {taken[taken.size() / 2], taken.back()};
}

void print(const std::string& what, const Times& times) {
    fmt::print("{:<58} median {:7.1f} ms, worst {:7.1f} ms\n", what, times.median_ms, times.worst_ms);
}

record::Item item_numbered(int number) {
    record::Item item;
    item.mark = fmt::format("KT-{:05}", number);
    item.serial = fmt::format("S{:06}", number * 7);
    item.maker = number % 3 == 0 ? "Kestrel Loom" : "Brandel & Voss Ropeworks";
    item.model = number % 3 == 0 ? "Broadleaf 25" : "Arbolane 11";
    item.batch = fmt::format("B-{}", number % 97);
    item.place = "Lower Ashmeer";
    item.diameter_or_width = Millimetres(11);
    return item;
}

void fill(const std::filesystem::path& folder, desk::Desk& desk) {
    store::Store store(folder, std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()));
    store::Transaction all(store.database(), store::Transaction::Purpose::write);
    for (int i = 0; i < hold_count; ++i) store::insert_item(store.database(), item_numbered(i));
    all.commit();
    for (const int remainder : {0, 1}) {
        const record::Item item = item_numbered(remainder);
        desk::BatchNotice notice;
        notice.maker = item.maker;
        notice.model = item.model;
        notice.words = "a doubt about all of them";
        desk.batch_hold(notice);
    }
}

std::vector<std::byte> file_bytes(const char* path) {
    std::ifstream file(path, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
}

web::Request asking(const std::string& path, std::multimap<std::string, std::string> fields = {}) {
    web::Request request;
    request.method = "GET";
    request.path = path;
    request.fields = std::move(fields);
    request.headers["host"] = host;
    return request;
}

// The token and the cookie of a page, for its posts.
web::Request posting(web::Site& site, const std::string& path) {
    const web::Answer page = site.answer(asking("/hold/new"));
    const std::string before = "name=\"token\" value=\"";
    const std::size_t token = page.body.find(before) + before.size();
    web::Request request = asking(path);
    request.method = "POST";
    request.headers["x-frayhold-token"] = page.body.substr(token, page.body.find('"', token) - token);
    const std::string cookie = page.headers.find("Set-Cookie")->second;
    request.headers["cookie"] = cookie.substr(0, cookie.find(';'));
    return request;
}

void time_queue(web::Site& site) {
    constexpr int runs = 25;
    const auto page = [&](const std::string& what, std::multimap<std::string, std::string> fields) {
        print(fmt::format("queue of {} holds, {}", hold_count, what),
              times_of(runs, [&] { (void)site.answer(asking("/", fields)); }));
    };
    page("first page", {});
    page("page 200", {{"page", "200"}});
    page("one mark", {{"words", "KT-12345"}});
    page("one maker", {{"words", "brandel voss"}});
    page("of one state", {{"state", "open"}});
}

// The holds are there by now: what comes in here is in service.
void add_further_items(const std::filesystem::path& folder) {
    store::Store store(folder, std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now()));
    store::Transaction all(store.database(), store::Transaction::Purpose::write);
    for (int i = hold_count; i < item_count; ++i) {
        record::Item item = item_numbered(i);
        item.kit = fmt::format("bag {}", i % 5000);
        store::insert_item(store.database(), item);
    }
    all.commit();
}

void time_register(web::Site& site) {
    constexpr int runs = 25;
    const auto page = [&](const std::string& path, std::multimap<std::string, std::string> fields,
                          const std::string& what) {
        print(fmt::format("{} at {} items, {}", path, item_count, what),
              times_of(runs, [&] { (void)site.answer(asking(path, fields)); }));
    };
    page("/items", {}, "first page");
    page("/items", {{"page", "1900"}}, "page 1900");
    page("/items", {{"words", "KT-77777"}}, "one mark");
    page("/items", {{"words", "kestrel broadleaf"}}, "two common words");
    page("/items", {{"kit", "bag 77"}}, "one kit");
    page("/item", {{"mark", "KT-77777"}}, "one item");
    page("/kits", {}, "first page");
    page("/checks", {}, "what is due");
}

void time_drag(web::Site& site, desk::Desk& desk, const char* photo) {
    desk::HoldFilter one;
    one.text = "KT-00001";
    const std::string hold = desk.find_holds(one).at(0).hold.number;
    desk::PhotoOrder order;
    order.bytes = file_bytes(photo);
    order.file_name = "close-up.jpg";
    const record::PhotoEntry entry = desk.add_photo(hold, order);
    const std::string path = fmt::format("/hold/{}/photo/{}", hold, entry.number);
    const json report = json::parse(site.answer(asking(path + "/report")).body);
    std::mt19937 random(5);
    std::uniform_real_distribution<double> shift(-6, 6);
    const auto dragged = [&](web::Request request) {
        json corners = report.at("card").at("corners_px");
        corners[1][0] = corners[1][0].get<double>() + shift(random);
        corners[1][1] = corners[1][1].get<double>() + shift(random);
        request.body = json{{"corners", corners}, {"marks", json::array()}, {"pins", json::array()}}.dump();
        const web::Answer answer = site.answer(request);
        if (answer.status != 200) throw Failure(Fault::outside, path, answer.body, "look into the photo");
    };
    constexpr int measured_runs = 9, followed_runs = 60;
    const web::Request measure = posting(site, path + "/measure"), follow = posting(site, path + "/follow");
    const Times anew = times_of(measured_runs, [&] { dragged(measure); });
    print("a corner at rest: everything measured anew", anew);
    print("a corner on its way: drag to new number", times_of(followed_runs, [&] { dragged(follow); }));
    int next = 0;
    print("a tile of the picture", times_of(20, [&] {
              const int column = next++ % 5;
              (void)site.answer(asking(fmt::format("{}/tile/0/{}/2", path, column)));
          }));
    print("the page of the case", times_of(20, [&] { (void)site.answer(asking("/hold/" + hold)); }));
}

}  // namespace

int main(int argc, char** argv) {
    if (argc != 2) {
        fmt::print(stderr, "usage: bench_web_latency PHOTO\n");
        return 2;
    }
    cv::Mat::setDefaultAllocator(&photo::frame_memory());
    try {
        const testing::TempFolder folder;
        const std::filesystem::path store = folder.path() / "store";
        web::SiteSetup setup;
        setup.desk_for = [&](const std::string& who) { return desk::usual_setup(store, who); };
        setup.who = "Ida Fenwright";
        setup.pages = desk::shipped_folders("templates/pages");
        setup.bench_names = {"http", {host}};
        web::Site site(std::move(setup));
        desk::Desk desk(desk::usual_setup(store, "Ida Fenwright"));
        fill(store, desk);
        time_drag(site, desk, argv[1]);
        time_queue(site);
        add_further_items(store);
        time_register(site);
    } catch (const Failure& failure) {
        fmt::print(stderr, "{}\n", failure.error().sentence());
        return 1;
    }
}
