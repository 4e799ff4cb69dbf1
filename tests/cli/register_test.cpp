// SPDX-License-Identifier: Apache-2.0
// The register, kits, checks, tags and copies, as a person types them.
#include <catch2/catch.hpp>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "program.h"

using program::Folder;
using program::Ran;

namespace {

Ran done(const Folder& folder, const std::string& words) {
    const Ran ran = folder.frayhold(words);
    INFO(words);
    INFO(ran.err);
    CHECK(ran.exit_code == 0);
    return ran;
}

const std::string by = " --by 'Ida Fenwright'";

void import_three(const Folder& folder) {
    folder.write(
        "gear.csv",
        "Our mark,Type,Manufacturer,Product,Length,Date made,Kit,Location,Price\r\n"
        "KT-R031,rope_low_stretch,Brandel & Voss Ropeworks,Arbolane 11,20 m,2024-03,bag 1,Lower Ashmeer,1\r\n"
        "KT-S007,sewn_sling,Kestrel Loom,Broadleaf 25,,2024,bag 1,Lower Ashmeer,2\r\n"
        "KT-S008,sewn_sling,Kestrel Loom,Broadleaf 25,,2012,bag 1,Lower Ashmeer,3\r\n");
    const Ran shown = done(folder, "item import gear.csv" + by);
    CHECK(shown.out.find("Price         (left out)") != std::string::npos);
    CHECK(shown.out.find("3 items can come in") != std::string::npos);
    CHECK(folder.frayhold("item list --json").out == "[]\n");
    CHECK(done(folder, "item import gear.csv --act" + by).out.find("3 items are in the register") !=
          std::string::npos);
}

}  // namespace

TEST_CASE("items come in from a file, are checked by hand, tagged and written out") {
    const Folder folder;
    import_three(folder);
    CHECK(done(folder, "item lives").out.find("KT-S008") != std::string::npos);
    done(folder, "kit need 'bag 1' sewn_sling 2" + by);
    CHECK(done(folder, "kit list").out.find("SHORT") == std::string::npos);
    CHECK(done(folder, "check due").out.find("never") != std::string::npos);
    done(folder, "check interval rope_low_stretch --months 6" + by);
    const Ran started = done(folder, "check start --kit 'bag 1' --json" + by);
    const std::string round = nlohmann::json::parse(started.out).at("number");
    CHECK(done(folder, "check begin " + round + " KT-R031" + by).out.find("it was never checked here") !=
          std::string::npos);
    done(folder, "check step " + round + " KT-R031 label_and_identity" + by);
    done(folder, "check step " + round + " KT-R031 stitching" + by);
    done(folder, "check felt " + round + " KT-R031 --to 12m" + by);
    done(folder, "check pause " + round + " KT-R031" + by);
    done(folder, "check resume " + round + " KT-R031" + by);
    const Ran early = folder.frayhold("check result " + round + " KT-R031 keep" + by);
    CHECK(early.exit_code == 4);
    CHECK(early.err.find("look at and feel 12 m to 20 m") != std::string::npos);
    done(folder, "check felt " + round + " KT-R031 --to 20m" + by);
    CHECK(done(folder, "check result " + round + " KT-R031 keep" + by).out.find("Ida Fenwright says: keep") !=
          std::string::npos);
    done(folder, "check begin " + round + " KT-S007" + by);
    CHECK(done(folder, "check finding " + round + " KT-S007 --kind gritty --side 'label side'" + by)
              .out.find("Gritty to the touch") != std::string::npos);
    const Ran held = done(folder, "check result " + round + " KT-S007 hold --words 'ask the maker'" + by);
    CHECK(held.out.find("KT-S007 is on hold") != std::string::npos);
    done(folder, "check end " + round + by);
    CHECK(done(folder, "check show " + round).out.find("not checked") != std::string::npos);
    CHECK(done(folder, "kit show 'bag 1'").out.find("SHORT OF 1 sewn sling") != std::string::npos);

    const std::string hold = nlohmann::json::parse(done(folder, "hold list --json").out).at(0).at("number");
    done(folder, "tag hold " + hold + " -o hold.pdf --paper letter");
    done(folder, "tag item --kit 'bag 1' --sheet a4-2x4 -o tags.pdf");
    done(folder, "tag shelf --place 'Lower Ashmeer' -o shelf.pdf");
    done(folder, "item record KT-S007 -o record.pdf --outfit 'Korrel Tree Crew'");
    for (const std::string file : {"hold.pdf", "tags.pdf", "shelf.pdf", "record.pdf"})
        CHECK(folder.shell("pdftotext " + file + " - | grep -c KT-S007").exit_code == 0);
    CHECK(folder.shell("pdftoppm -r 100 -png hold.pdf hold && zbarimg --nodbus -q --raw hold-1.png").out ==
          "frayhold:hold:" + hold + "\n");

    done(folder, "verdict give " + hold +
                     " --kind retire_and_destroy --reason worn --witness 'Ida Fenwright' --by "
                     "'Tomas Oberlyn'");
    const Ran gone = done(folder, "item destroyed");
    CHECK(gone.out.find("KT-S007") != std::string::npos);
    CHECK(gone.out.find("Ida Fenwright") != std::string::npos);
    CHECK(folder.frayhold("tag hold " + hold + " -o over.pdf").exit_code == 4);

    CHECK(done(folder, "store show").out.find("Gritty to the touch") != std::string::npos);
    done(folder, "store charts -o charts");
    CHECK(std::filesystem::exists(folder.file("charts/leaving-by-month.svg")));
    done(folder, "item export -o all.csv");
    CHECK(folder.read("all.csv").starts_with("mark,kind,"));
    done(folder, "item export -o all.json");
    CHECK(nlohmann::json::parse(folder.read("all.json")).size() == 3);

    done(folder, "backup copy");
    CHECK(folder.shell("cd copy && sha256sum --quiet -c manifest-sha256.txt").exit_code == 0);
    done(folder, "restore copy again");
    CHECK(done(folder, "--store again verify").out.find("All is well") != std::string::npos);
    CHECK(folder.frayhold("restore copy again").exit_code == 3);
    CHECK(folder.frayhold("backup copy").exit_code == 3);
    done(folder, "export open");
    CHECK(std::filesystem::exists(folder.file("open/journal.jsonl")));
}

TEST_CASE("a file with a wrong row brings in nothing and leaves the refused rows with their reasons") {
    const Folder folder;
    import_three(folder);
    folder.write("more.csv", "mark,kind\nKT-R031,lanyard\nKT-L001,boat\nKT-L002,lanyard\n");
    const Ran ran = folder.frayhold("item import more.csv --act --refused refused.csv" + by);
    CHECK(ran.exit_code == 3);
    CHECK(ran.out.find("2 of 3 rows are refused, so no item came in") != std::string::npos);
    const std::string refused = folder.read("refused.csv");
    CHECK(refused.starts_with("line,reason,mark,kind\r\n2,"));
    CHECK(refused.find("3,") != std::string::npos);
    CHECK(nlohmann::json::parse(folder.frayhold("item list --json").out).size() == 3);
}

TEST_CASE("help of commands that decide carries the caution") {
    const Folder folder;
    for (const std::string command :
         {"check due", "check interval", "check start", "check show", "check finding", "check result",
          "item lives", "item record", "tag hold", "tag shelf"}) {
        INFO(command);
        CHECK(folder.frayhold(command + " --help")
                  .out.find("The maker's instructions, local law and a competent "
                            "person come first.") != std::string::npos);
    }
}
