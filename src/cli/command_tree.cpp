// SPDX-License-Identifier: Apache-2.0
#include "cli/command_tree.h"

#include <CLI/CLI.hpp>

#include "cli/bare_tree.h"
#include "cli/batch_command.h"
#include "cli/camera_command.h"
#include "cli/card_command.h"
#include "cli/check_command.h"
#include "cli/copy_command.h"
#include "cli/demo_command.h"
#include "cli/finding_command.h"
#include "cli/gauge_command.h"
#include "cli/hold_command.h"
#include "cli/item_command.h"
#include "cli/journal_command.h"
#include "cli/kit_command.h"
#include "cli/maker_command.h"
#include "cli/pack_command.h"
#include "cli/person_command.h"
#include "cli/photo_command.h"
#include "cli/post_command.h"
#include "cli/query_command.h"
#include "cli/reply_command.h"
#include "cli/serve_command.h"
#include "cli/store_command.h"
#include "cli/tag_command.h"
#include "cli/verdict_command.h"
#include "cli/verify_command.h"

namespace frayhold::cli {

std::unique_ptr<CLI::App> command_tree(Session& session) {
    std::unique_ptr<CLI::App> tree = bare_tree(session);
    CLI::App& app = *tree;
    add_gauge_command(app, session);
    add_card_command(app, session);
    add_camera_command(app, session);
    add_item_command(app, session);
    add_kit_command(app, session);
    add_check_command(app, session);
    add_hold_command(app, session);
    add_tag_command(app, session);
    add_finding_command(app, session);
    add_photo_command(app, session);
    add_pack_command(app, session);
    add_maker_command(app, session);
    add_query_command(app, session);
    add_reply_command(app, session);
    add_post_command(app, session);
    add_verdict_command(app, session);
    add_batch_command(app, session);
    add_store_command(app, session);
    add_person_command(app, session);
    add_journal_command(app, session);
    add_verify_command(app, session);
    add_serve_command(app, session);
    add_copy_commands(app, session);
    add_demo_command(app, session);
    return tree;
}

}  // namespace frayhold::cli
