"""What the kiosk says about its store: keys and staff, damage, audit, backup, server."""

from kiosk.wording.reasons_comparison import Sentences

STORAGE: Sentences = {
    "key_of_other_store": lambda say, v: say("%(file)s was not locked with this key.", **v),
    "store_damaged": lambda say, v: say(
        "A part of the store has been damaged; nothing more is written. Restore the newest backup."
    ),
    "store_cut_short": lambda say, v: say(
        "The end of %(file)s is missing; nothing more is written. Restore the newest backup.", **v
    ),
    "older_schema": lambda say, v: say(
        "%(file)s has the older layout %(file_has)s; kiosk upgrade brings it to %(known)s.", **v
    ),
    "store_full": lambda say, v: say(
        "The disk is full, so nothing new is kept. What was kept is safe. Make room, then go on."
    ),
    "disk_in_trouble": lambda say, v: say(
        "The disk does not work as it should, so nothing new is kept. Call the site lead."
    ),
    "store_without_keys": lambda say, v: say(
        "%(file)s is there without its key file; put the key file back beside it.", **v
    ),
    "no_keys": lambda say, v: say("There is no key file %(file)s; set the store up first.", **v),
    "keys_exist": lambda say, v: say("There is a key file %(file)s already.", **v),
    "keys_unreadable": lambda say, v: say("The key file %(file)s cannot be read.", **v),
    "wrong_passphrase": lambda say, v: say("This name and passphrase do not open %(file)s.", **v),
    "wrong_recovery_code": lambda say, v: say("This recovery code does not open %(file)s.", **v),
    "wait_to_try": lambda say, v: say("Wait %(wait_s)s s, then try again.", **v),
    "passphrase_short": lambda say, v: say(
        "A passphrase has %(least)s letters or more; a few words make a good one.", **v
    ),
    "passphrase_long": lambda say, v: say("A passphrase has %(most)s letters or fewer.", **v),
    "passphrase_easily_guessed": lambda say, v: say(
        "A passphrase has %(least)s different letters or more.", **v
    ),
    "passphrases_differ": lambda say, v: say("The two passphrases differ. Choose one again."),
    "code_not_written_down": lambda say, v: say("This is not the last group of the code. Look at it again."),
    "passphrase_file_unreadable": lambda say, v: say("No passphrase can be read from %(file)s.", **v),
    "name_taken": lambda say, v: say("The name %(name)s is taken.", **v),
    "last_slot": lambda say, v: say("This is the last passphrase that opens the store; add another first."),
    "role_unknown": lambda say, v: say("There is no role %(role)s; known: %(known)s.", **v),
    "role_not_held": lambda say, v: say("This needs the role %(role)s.", **v),
    "last_site_lead": lambda say, v: say("This is the last site lead; name another first."),
    "unknown_account": lambda say, v: say("There is no account %(staff)s.", **v),
    "no_accounts": lambda say, v: say("This kiosk keeps nothing, so it has no accounts."),
    "account_closed": lambda say, v: say("This account is closed."),
    "store_locked": lambda say, v: say("The store is locked; a passphrase opens it."),
    "not_an_anchor": lambda say, v: say("%(found)s is not the audit's head as a page bears it.", **v),
    "audit_broken": lambda say, v: say("The audit does not hold: %(count)s breaks.", **v),
    "backup_incomplete": lambda say, v: say("%(file)s is not a whole backup: %(missing)s is missing.", **v),
    "backup_unsound": lambda say, v: say("The backup %(file)s is not sound: %(found)s.", **v),
    "backup_stopped": lambda say, v: say("The backup was not made: %(found)s.", **v),
    "store_in_the_way": lambda say, v: say("%(file)s is there already; nothing is put over it.", **v),
    "visit_in_progress": lambda say, v: say("A visit is in progress; this waits until it has ended."),
    "nothing_for_research": lambda say, v: say(
        "No scored visit of purpose reference or retest whose person agreed to research use."
    ),
    "unknown_code": lambda say, v: say("Nobody in the store has the code %(code)s.", **v),
    "code_on_several": lambda say, v: say("%(count)s people have the code %(code)s; name one by id.", **v),
    "erasure_reason_unknown": lambda say, v: say("There is no reason %(reason)s; known: %(known)s.", **v),
    "migration_undone": lambda say, v: say("The store keeps its layout: %(found)s.", **v),
    "server_away": lambda say, v: say("The server does not answer; everything stays here until it does."),
    "server_file_unreadable": lambda say, v: say("The server's address cannot be read from %(file)s.", **v),
    "server_not_ours": lambda say, v: say("The server has not been set up for this layout of the store."),
    "server_without_tls": lambda say, v: say(
        "The server %(host)s is not on this machine: name the file of the certificate that vouches for it.",
        **v,
    ),
    "server_not_vouched_for": lambda say, v: say(
        "The server shows a certificate that the one you named does not vouch for; nothing was sent."
    ),
    "server_other_name": lambda say, v: say(
        "The server shows a certificate of another name; nothing was sent."
    ),
    "server_speaks_plainly": lambda say, v: say("The server does not encrypt; nothing was sent."),
    "server_login_refused": lambda say, v: say(
        "The server does not let this user in; look at user, password and database."
    ),
    "site_pack_unreadable": lambda say, v: say("%(file)s is not a site pack.", **v),
    "site_pack_changed": lambda say, v: say("%(file)s does not hold what it says it holds.", **v),
    "fingerprint_differs": lambda say, v: say("The fingerprint is %(found)s, not %(wanted)s.", **v),
}
