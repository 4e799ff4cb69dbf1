// SPDX-License-Identifier: Apache-2.0
#include "store/kits.h"

#include "store/named_cell.h"

namespace frayhold::store {

void set_kit_need(Database& database, const std::string& kit, record::Kind kind, int count) {
    database.run("DELETE FROM kit_need WHERE kit = :kit AND kind = :kind", {kit, record::name_of(kind)});
    if (count > 0)
        database.run("INSERT INTO kit_need (kit, kind, count) VALUES (:kit, :kind, :count)",
                     {kit, record::name_of(kind), count});
}

std::vector<KitNeed> kit_needs(const Database& database, const std::string& kit) {
    return database.all<KitNeed>("SELECT kind, count FROM kit_need WHERE kit = :kit ORDER BY kind", {kit},
                                 [](Row& row) {
                                     KitNeed need;
                                     need.kind = named(row.text(), record::kind_named);
                                     need.count = row.integer();
                                     return need;
                                 });
}

std::vector<std::string> kit_names(const Database& database, int limit, int offset) {
    // From name to name along the indexes, so that the items of a kit are not all walked over.
    const auto next_after = [](const std::string& name) {
        return "(SELECT MIN(kit) FROM (SELECT MIN(kit) AS kit FROM item WHERE kit > " + name +
               " UNION ALL SELECT MIN(kit) FROM kit_need WHERE kit > " + name + ") AS later)";
    };
    return database.all<std::string>(
        "WITH RECURSIVE named (kit) AS (SELECT " + next_after("''") + " UNION ALL SELECT " +
            next_after("named.kit") +
            " FROM named WHERE named.kit IS NOT NULL) SELECT kit FROM named WHERE kit "
            "IS NOT NULL LIMIT :limit OFFSET :offset",
        {limit_or_all(limit), offset}, [](Row& row) { return row.text(); });
}

}  // namespace frayhold::store
