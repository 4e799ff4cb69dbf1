// SPDX-License-Identifier: Apache-2.0
// Our CSV against Python's csv module, both ways.
#include "record/csv.h"

#include <catch2/catch.hpp>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "record/temp_folder.h"

namespace frayhold::record {
namespace {

using Table = std::vector<std::vector<std::string>>;

Table said_by_python(const std::string& what, const std::filesystem::path& file) {
    const std::string command = "/usr/bin/python3 " FRAYHOLD_SOURCE_DIR "/tests/reference/csv_files.py " +
                                what + " '" + file.string() + "'";
    std::FILE* python = popen(command.c_str(), "r");
    REQUIRE(python != nullptr);
    std::string json;
    for (int sign = std::fgetc(python); sign != EOF; sign = std::fgetc(python))
        json += static_cast<char>(sign);
    REQUIRE(pclose(python) == 0);
    return nlohmann::json::parse(json).get<Table>();
}

}  // namespace

TEST_CASE("What Python writes is read as it meant it") {
    const testing::TempFolder folder;
    const std::filesystem::path file = folder.path() / "rows.csv";
    const Table expected = said_by_python("write", file);
    REQUIRE(expected.size() > 2000);
    std::ifstream in(file, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const auto rows = parse_csv(text);
    REQUIRE(rows.has_value());
    Table read;
    for (const CsvRow& row : *rows) read.push_back(row.cells);
    CHECK(read == expected);
}

TEST_CASE("What we write Python reads as we meant it") {
    const testing::TempFolder folder;
    const Table rows = said_by_python("write", folder.path() / "rows.csv");
    const std::filesystem::path file = folder.path() / "ours.csv";
    {
        std::ofstream out(file, std::ios::binary);
        for (const auto& row : rows) out << csv_row(row);
    }
    CHECK(said_by_python("read", file) == rows);
}

}  // namespace frayhold::record
