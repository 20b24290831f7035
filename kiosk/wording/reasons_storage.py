"""What the kiosk says about its store: keys and staff, damage, audit, backup, server."""

from typing import Final

from kiosk.i18n.message import N_, Messages

STORAGE: Final[Messages] = {
    "key_of_other_store": N_("%(file)s was not locked with this key."),
    "store_damaged": N_(
        "A part of the store has been damaged; nothing more is written. Restore the newest backup."
    ),
    "store_cut_short": N_(
        "The end of %(file)s is missing; nothing more is written. Restore the newest backup."
    ),
    "older_schema": N_("%(file)s has the older layout %(file_has)s; kiosk upgrade brings it to %(known)s."),
    "store_full": N_(
        "The disk is full, so nothing new is kept. What was kept is safe. Make room, then go on."
    ),
    "disk_in_trouble": N_("The disk does not work as it should, so nothing new is kept. Call the site lead."),
    "store_without_keys": N_("%(file)s is there without its key file; put the key file back beside it."),
    "no_keys": N_("There is no key file %(file)s; set the store up first."),
    "keys_exist": N_("There is a key file %(file)s already."),
    "keys_unreadable": N_("The key file %(file)s cannot be read."),
    "wrong_passphrase": N_("This name and passphrase do not open %(file)s."),
    "wrong_recovery_code": N_("This recovery code does not open %(file)s."),
    "wait_to_try": N_("Wait %(wait_s)s s, then try again."),
    "passphrase_short": N_("A passphrase has %(least)s letters or more; a few words make a good one."),
    "passphrase_long": N_("A passphrase has %(most)s letters or fewer."),
    "passphrase_easily_guessed": N_("A passphrase has %(least)s different letters or more."),
    "passphrases_differ": N_("The two passphrases differ. Choose one again."),
    "code_not_written_down": N_("This is not the last group of the code. Look at it again."),
    "passphrase_file_unreadable": N_("No passphrase can be read from %(file)s."),
    "name_taken": N_("The name %(name)s is taken."),
    "last_slot": N_("This is the last passphrase that opens the store; add another first."),
    "role_unknown": N_("There is no role %(role)s; known: %(known)s."),
    "role_not_held": N_("This needs the role %(role)s."),
    "last_site_lead": N_("This is the last site lead; name another first."),
    "unknown_account": N_("There is no account %(staff)s."),
    "no_accounts": N_("This kiosk keeps nothing, so it has no accounts."),
    "account_closed": N_("This account is closed."),
    "store_locked": N_("The store is locked; a passphrase opens it."),
    "not_an_anchor": N_("%(found)s is not the audit's head as a page bears it."),
    "audit_broken": N_("The audit does not hold: %(count)s breaks."),
    "backup_incomplete": N_("%(file)s is not a whole backup: %(missing)s is missing."),
    "backup_unsound": N_("The backup %(file)s is not sound: %(found)s."),
    "backup_stopped": N_("The backup was not made: %(found)s."),
    "store_in_the_way": N_("%(file)s is there already; nothing is put over it."),
    "visit_in_progress": N_("A visit is in progress; this waits until it has ended."),
    "nothing_for_research": N_(
        "No scored visit of purpose reference or retest whose person agreed to research use."
    ),
    "unknown_code": N_("Nobody in the store has the code %(code)s."),
    "code_on_several": N_("%(count)s people have the code %(code)s; name one by id."),
    "erasure_reason_unknown": N_("There is no reason %(reason)s; known: %(known)s."),
    "migration_undone": N_("The store keeps its layout: %(found)s."),
    "server_away": N_("The server does not answer; everything stays here until it does."),
    "server_file_unreadable": N_("The server's address cannot be read from %(file)s."),
    "server_not_ours": N_("The server has not been set up for this layout of the store."),
    "server_without_tls": N_(
        "The server %(host)s is not on this machine: name the file of the certificate that vouches for it."
    ),
    "server_not_vouched_for": N_(
        "The server shows a certificate that the one you named does not vouch for; nothing was sent."
    ),
    "server_other_name": N_("The server shows a certificate of another name; nothing was sent."),
    "server_speaks_plainly": N_("The server does not encrypt; nothing was sent."),
    "server_login_refused": N_("The server does not let this user in; look at user, password and database."),
    "site_pack_unreadable": N_("%(file)s is not a site pack."),
    "site_pack_changed": N_("%(file)s does not hold what it says it holds."),
    "fingerprint_differs": N_("The fingerprint is %(found)s, not %(wanted)s."),
}
