// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "store/database.h"
#include "store/dialect.h"
#include "units/date.h"

// The tables and how they came to be. A migration is never changed once released: a change is a new one.
namespace frayhold::store {

// The version this program reads and writes.
[[nodiscard]] int newest_schema();

// 0 for an empty database.
[[nodiscard]] int schema_version(const Database& database);

// Brings the database to a version, each step in a transaction of its own; nothing to do where it is there
// already. Failure (Fault::input) where the database is newer than this program.
void migrate(Database& database, Time now, int to = newest_schema());

// Every table, index and trigger, by name.
[[nodiscard]] std::vector<SchemaObject> schema_objects(const Database& database);

// What they are where this program made the schema and nobody changed it; made on the same engine, and kept
// nowhere.
[[nodiscard]] std::vector<SchemaObject> expected_schema(const Database& database);

}  // namespace frayhold::store
